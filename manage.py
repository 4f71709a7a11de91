#!/usr/bin/env python
"""Runs the project's commands."""

import os
import sys

from django.core.management import execute_from_command_line


def main() -> None:
    # What the program writes is for its own account alone: 0600, folders 0700.
    os.umask(0o077)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
