"""Thin edges: one outside thing each (sound, speech, disk, clock)."""
