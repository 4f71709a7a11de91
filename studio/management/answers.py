"""What the commands that set a studio up share: answers from options or from the keyboard,
and one sentence for each thing that is wrong.

Shared: used by the commands that set a studio up.
"""

import getpass
import os
import sys
from collections.abc import Callable, Sequence
from typing import TypeVar

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import CommandError
from django.db.models import Model
from django.utils.translation import gettext as _

from studio.models import Location, Staff

Row = TypeVar("Row", bound=Model)


def answer(given: str | None, option: str, question: str) -> str:
    """The option's value, or what is typed; CommandError where nobody can type."""
    if given:
        return given.strip()
    if not sys.stdin.isatty():
        raise CommandError(_("Give %(option)s: there is nobody to ask.") % {"option": option})
    while not (typed := input(f"{question} ").strip()):
        pass
    return typed


def answer_if_any(given: str | None, question: str) -> str:
    """The option's value, or what is typed, which may be nothing; "" where nobody can type."""
    if given is not None or not sys.stdin.isatty():
        return (given or "").strip()
    return input(f"{question} ").strip()


def checked(row: Row, leave_out: Sequence[str] = ()) -> Row:
    """The row, if every field of it is right; else CommandError with a sentence for each."""
    try:
        row.full_clean(exclude=leave_out)
    except ValidationError as error:
        raise CommandError(sentences(error)) from None
    return row


def sentences(error: ValidationError) -> str:
    if hasattr(error, "error_dict"):
        return "\n".join(
            f"{field}: {message}" if field != "__all__" else message
            for field, messages in error.message_dict.items()
            for message in messages
        )
    return "\n".join(error.messages)


def password_for(staff: Staff, variable: str | None) -> str:
    """A password that the rules allow: from the environment, or typed twice."""
    if variable:
        return _allowed(os.environ.get(variable, ""), staff)
    if not sys.stdin.isatty():
        raise CommandError(
            _("Give %(option)s: there is nobody to ask.") % {"option": "--password-from-env"}
        )
    return _typed_twice(staff, getpass.getpass)


def _typed_twice(staff: Staff, ask: Callable[[str], str]) -> str:
    while True:
        word = ask(_("Password for %(name)s: ") % {"name": staff.username})
        try:
            validate_password(word, staff)
        except ValidationError as error:
            print(sentences(error), file=sys.stderr)  # noqa: T201
            continue
        if word == ask(_("The same again: ")):
            return word
        print(_("The two were not the same."), file=sys.stderr)  # noqa: T201


def _allowed(word: str, staff: Staff) -> str:
    try:
        validate_password(word, staff)
    except ValidationError as error:
        raise CommandError(sentences(error)) from None
    return word


def locations_called(names: Sequence[str]) -> list[Location]:
    """The locations of these names; CommandError names those that there are."""
    known = {location.name: location for location in Location.objects.order_by("name")}
    for name in names:
        if name not in known:
            raise CommandError(
                _("There is no location called “%(name)s”. There are: %(known)s.")
                % {"name": name, "known": ", ".join(known) or _("none")}
            )
    return [known[name] for name in names]


def staff_called(names: Sequence[str]) -> list[Staff]:
    """The accounts of these usernames; CommandError names those that there are."""
    known = {staff.username: staff for staff in Staff.objects.order_by("username")}
    for name in names:
        if name not in known:
            raise CommandError(
                _("There is no account called “%(name)s”. There are: %(known)s.")
                % {"name": name, "known": ", ".join(known) or _("none")}
            )
    return [known[name] for name in names]
