"""The pure rules of a colour service: no I/O, no clock, no threads."""
