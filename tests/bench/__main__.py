"""python -m tests.bench NAME [--json] [--full] [--database URL]"""

import argparse
import importlib
import sys

from tests.bench.measure import Options
from tests.bench.site import django_on

NAMES = (
    "floor", "log", "board", "import", "crowd", "rebuild", "move", "parts", "door", "search",
    "letters", "stations",
)  # fmt: skip
# It begins on SQLite wherever it goes.
FROM_SQLITE = "move"
# A module cannot be called by a word of the language.
MODULES = {"import": "paper"}


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench")
    parser.add_argument("name", choices=NAMES)
    parser.add_argument("--json", action="store_true", help="the result as JSON")
    parser.add_argument("--full", action="store_true", help="with ten times as long a record")
    parser.add_argument("--database", metavar="URL", help="PostgreSQL; SQLite if not said")
    said = parser.parse_args()
    with django_on(None if said.name == FROM_SQLITE else said.database):
        module = importlib.import_module(f"tests.bench.{MODULES.get(said.name, said.name)}")
        result = module.run(Options(said.full, said.database))
    print(result.as_json() if said.json else result.told())
    return 0 if result.holds else 1


if __name__ == "__main__":
    sys.exit(main())
