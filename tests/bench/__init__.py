"""Benchmarks: ratios measured in one run, against the floor under each.

``python -m tests.bench NAME``; ends with 1 when a figure is over its limit. docs/benchmarks.md
says what each measures.
"""
