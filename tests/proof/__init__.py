"""What do we promise about clocks and records, and does it hold? `python -m tests.proof NAME`."""
