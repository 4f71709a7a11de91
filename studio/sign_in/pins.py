"""PINs for shared tablets: six digits that let a member of staff in where a tablet is enrolled.

A PIN is good for nothing without an enrolled tablet and gives a coach's rights at most; PinBackend
in studio/sign_in/backends.py slows its guessing.
Shared: used by the tablets' pages.
"""

import datetime
import itertools
import logging
import re

from django.contrib.auth.hashers import check_password, make_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext_lazy as _

from studio.models import Pin, SignInTry, Staff

log = logging.getLogger("ladder.tablets")

DIGITS = 6
# Shapes on the pad that many people draw.
DRAWN = {"147258", "258369", "147369", "159357", "159753", "357159", "123654", "147852", "789456"}


def check_pin(pin: str) -> None:
    """Refuse, with ValidationError, what is no PIN or is among the first to be guessed."""
    if not re.fullmatch(rf"[0-9]{{{DIGITS}}}", pin):
        raise ValidationError(_("A PIN has %(n)d digits."), params={"n": DIGITS})
    if is_easily_guessed(pin):
        raise ValidationError(_("This PIN is one of the first that somebody would try."))


def is_easily_guessed(pin: str) -> bool:
    """Few different digits, a row of even steps, a repeated or turned-round part, a drawn shape."""
    steps = {(int(later) - int(digit)) % 10 for digit, later in itertools.pairwise(pin)}
    half = len(pin) // 2
    return (
        len(set(pin)) < 3
        or len(steps) == 1
        or pin[:half] in (pin[half:], pin[half:][::-1])
        or pin[:2] == pin[2:4] == pin[4:]
        or all(pin[at] == pin[at + 1] for at in range(0, len(pin), 2))
        or pin in DRAWN
    )


def pin_of(staff: Staff) -> Pin | None:
    return Pin.objects.filter(staff=staff).first()


def set_pin(staff: Staff, pin: str, now: datetime.datetime) -> None:
    """Set or change one's own PIN. Earlier wrong tries no longer count.

    Raises ValidationError; see check_pin.
    """
    check_pin(pin)
    with transaction.atomic():
        pin_hash = make_password(_peppered(staff, pin))
        Pin.objects.update_or_create(staff=staff, defaults={"hash": pin_hash, "set_at": now})
        SignInTry.objects.filter(staff=staff, tablet__isnull=False, counts=True).update(
            counts=False
        )
    log.info("pin set by=%s", staff.uuid)


def pin_matches(staff: Staff, pin: str) -> bool:
    """Whether it is their PIN. Only PinBackend asks, which counts the tries."""
    return check_password(_peppered(staff, pin), staff.pin.hash)


def _peppered(staff: Staff, pin: str) -> str:
    """The PIN mixed with the program's key: a million PINs are soon tried on a hash in a
    stolen copy of the database, but not without the key, which is not in it.

    The salt's text is part of every stored hash and must never change.
    """
    return salted_hmac(f"studio.pins:{staff.uuid}", pin, algorithm="sha256").hexdigest()
