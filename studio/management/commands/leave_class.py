"""manage.py leave_class NAME --location L --child CHILD: a child is in a class no longer. Their
record stays, and old evenings of the class list them still."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.translation import gettext as _

from studio.management.answers import locations_called
from studio.models import Child, ClassGroup
from studio.people.class_lists import leave
from studio.people.names import fold_name


class Command(BaseCommand):
    help = "Take a child out of a class, from today on."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", help="of the class")
        parser.add_argument("--location", required=True)
        parser.add_argument("--child", required=True, help="the whole name, or the list's id")

    def handle(self, *args: Any, **options: Any) -> None:
        (location,) = locations_called([options["location"]])
        group = ClassGroup.objects.filter(location=location, name=options["name"]).first()
        if group is None:
            raise CommandError(_("There is no class “%(name)s” there.") % {"name": options["name"]})
        child = self._child(group, options["child"])
        leave(child, group, location.day_of(timezone.now()))
        sentence = _("%(child)s is in %(group)s no longer.")
        self.stdout.write(sentence % {"child": child.name, "group": group.name})

    @staticmethod
    def _child(group: ClassGroup, text: str) -> Child:
        named = group.children.filter(name_key=fold_name(text)) | group.children.filter(
            list_id=text.strip()
        )
        found = list(named.distinct().order_by("pk"))
        if not found:
            raise CommandError(_("There is no “%(child)s” in that class.") % {"child": text})
        if len(found) > 1:
            sentence = _("“%(child)s” is the name of several there: say the list’s id.")
            raise CommandError(sentence % {"child": text})
        return found[0]
