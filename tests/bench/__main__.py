"""python -m tests.bench NAME [--json]"""

import argparse
import importlib
import sys

NAMES = ("floor",)


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench")
    parser.add_argument("name", choices=NAMES)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    result = importlib.import_module(f"tests.bench.{options.name}").run()
    print(result.as_json() if options.json else result.told())
    return 0 if result.holds else 1


if __name__ == "__main__":
    sys.exit(main())
