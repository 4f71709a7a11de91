"""``python -m tests.letters_truth [--class NAME] [--lies] [--json]``: every letter of the invented
studio, and every note for the door that its last term could have had, in every language, held
against the raw record; ends with 1 if a sentence is false or in no table of patterns, or with
--lies, if something false was not found."""

import argparse
import datetime
import json
import sys

from tests.bench.site import django_on

# A Wednesday, half past five in Lisbon and half past six in Madrid.
NOW = datetime.datetime(2026, 3, 4, 17, 20, tzinfo=datetime.UTC)
SEED = 2


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.letters_truth")
    parser.add_argument("--class", dest="group", metavar="NAME", help="the children of one class")
    parser.add_argument("--lies", action="store_true", help="alter what is claimed: all is found")
    parser.add_argument("--json", action="store_true", help="the result as JSON")
    said = parser.parse_args()
    with django_on():
        from django.core.management import call_command

        from readiness.demo.build import build

        call_command("migrate", verbosity=0)
        build(NOW, SEED, lambda sentence: None)
        from tests.support.letters.notes.truth import read_notes
        from tests.support.letters.truth import read_all

        told = read_all(NOW, said.group, said.lies)
        read_notes(told, NOW, said.group, each=3 if said.lies else 0)
    print(json.dumps(told.as_data(), ensure_ascii=False) if said.json else told.in_words())
    return 1 if told.wrong or told.missed else 0


if __name__ == "__main__":
    sys.exit(main())
