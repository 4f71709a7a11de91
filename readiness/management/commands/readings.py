"""manage.py readings --child NAME [--day D] [--json] [--demo]: where a child stands."""

import datetime
import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from readiness.record.standings import read
from studio.models import Child
from studio.people.names import fold_name
from studio.people.today import local_today
from studio.people.told_apart import full_name

AMBIGUOUS = 2


class Command(BaseCommand):
    help = "Print every stage, gate and support of one child on a day."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--child", required=True, help="name, name used, list id or id")
        parser.add_argument("--day", type=datetime.date.fromisoformat, help="YYYY-MM-DD")
        parser.add_argument("--json", action="store_true", help="print JSON")
        # Read by studio/settings.py.
        parser.add_argument("--demo", action="store_true", help="of the demo's children")

    def handle(self, *args: Any, **options: Any) -> None:
        if settings.DEMO and not Path(settings.DATABASES["default"]["NAME"]).exists():
            raise CommandError("There is no demo yet: run “manage.py demo”.")
        children = find_children(options["child"])
        if not children:
            raise CommandError(f"No child is called “{options['child']}”.")
        if len(children) > 1:
            for child in children:
                self.stderr.write(f"{child.name}, born {child.born or '?'}, id {child.uuid}")
            sys.exit(AMBIGUOUS)
        (child,) = children
        day = options["day"] or local_today(children, timezone.now())[child.pk]
        data = {**read(child, day).data, "child": full_name(child)}
        if options["json"]:
            self.stdout.write(json.dumps(data, ensure_ascii=False, indent=1))
        else:
            self._print(data)

    def _print(self, data: dict[str, Any]) -> None:
        self.stdout.write(f"{data['child']}, {data['day']}, ladder {data['ladder']}")
        for stage in data["stages"]:
            causes = f" ({', '.join(stage['causes'])})" if stage["causes"] else ""
            # None while a stage that it needs is not open.
            score = "" if stage["score"] is None else f", score {stage['score']}"
            self.stdout.write(f"{stage['stage']} {stage['state']}{causes}{score}")
            for gate in stage["gates"]:
                met = "met" if gate["met"] else f"{gate['progress']:.2f}"
                self.stdout.write(f"   {gate['code']}: {met}")


def find_children(name: str) -> list[Child]:
    """The children with this id or list id, else those with this name or name used."""
    children = Child.objects.filter(merged_into=None).order_by("pk")
    by_id = [child for child in children if name and name in (str(child.uuid), child.list_id)]
    key = fold_name(name)
    return by_id or [c for c in children if key in (c.name_key, fold_name(c.name_used))]
