"""manage.py plan_stations --meeting ID [--json]: the stations of an evening, as the page offers
them. Nothing is taken. It ends with 1 if the evening cannot be planned."""

import json
import uuid
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils.translation import gettext as _

from readiness.stations.as_text import clash_data, clash_lines, plan_data, plan_lines
from readiness.stations.plan_page import answer
from readiness.stations.taken import taken_of
from studio.models import Meeting


class Command(BaseCommand):
    help = "Plan the stations of one evening of a class."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--meeting", type=uuid.UUID, required=True, help="its public id")
        parser.add_argument("--json", action="store_true", help="for a program")

    def handle(self, *args: Any, **options: Any) -> None:
        rows = Meeting.objects.select_related("group__location", "location")
        meeting = rows.filter(uuid=options["meeting"]).first()
        if meeting is None:
            raise CommandError(_("There is no such meeting."))
        found = answer(meeting, {}, taken_of(meeting))
        if options["json"]:
            data = plan_data(found) if found.plan else clash_data(found)
            self.stdout.write(json.dumps(data, ensure_ascii=False, indent=2))
        else:
            for line in plan_lines(found) if found.plan else clash_lines(found):
                self.stdout.write(line)
        if found.plan is None:
            raise CommandError(_("This evening cannot be planned as it stands."))
