"""Benchmarks: `python -m tests.bench plan` prints its tables; figures are kept in FIGURES.md."""
