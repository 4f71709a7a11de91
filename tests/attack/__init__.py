"""Attacks on the site, by theme: ``python -m tests.attack [THEME…] [--full]``.

A theme is a module with ``run(full) -> list[str]``: what was found, nothing if all is well. It
reaches nothing beyond this machine.
"""
