"""Benchmarks: ratios measured in one run, against the floor under each.

``python -m tests.bench NAME [--json]``; ends with 1 when a figure is over its limit.
"""
