"""Guessing: passwords and PINs, from strangers' browsers, known ones and a tablet, for days."""

import datetime
from typing import Any
from unittest.mock import patch

import time_machine
from django.core import signing

from studio.models import SignInTry
from studio.sign_in import known_browser
from studio.sign_in.throttle import MOST_IN_A_ROW
from tests.attack.site import Browser, Sent, attacked_site, quiet
from tests.support.every_page import EVENING, PIN, Site

PASSWORD = "a long enough word"
GUESSES, FULL_GUESSES = 400, 4_000
MINUTES = 7


def run(full: bool) -> list[str]:
    with attacked_site() as site, quiet():
        guesses = FULL_GUESSES if full else GUESSES
        return [*strangers(site, guesses), *at_a_tablet(site, guesses), *forged_cookies(site)]


def strangers(site: Site, guesses: int) -> list[str]:
    """A guess every few minutes, and at the end the right one from where it was never used and from
    where it was."""
    found = []
    with time_machine.travel(EVENING, tick=False) as clock:
        looked_at = sum(
            _is_looked_at(site, clock, Sent("post", "/sign-in", _form(f"guess {n}")))
            for n in range(guesses)
        )
        if looked_at > MOST_IN_A_ROW:
            found.append(f"{looked_at} wrong passwords in a row were looked at")
        cookie = signing.dumps(["0" * 16, [str(site.cast.omar.uuid)]], salt=known_browser.SALT)
        right = Sent("post", "/sign-in", _form(PASSWORD), cookies={known_browser.COOKIE: cookie})
        if Browser(None).ask(right).status != 302:
            found.append("strangers' guesses closed a browser that is known")
        SignInTry.objects.all().delete()
    return found


def at_a_tablet(site: Site, guesses: int) -> list[str]:
    """One PIN after the other."""
    form = {"who": str(site.cast.omar.uuid)}
    cookies = {"tablet": site.secret}
    with time_machine.travel(EVENING, tick=False) as clock:
        looked_at = sum(
            _is_looked_at(
                site,
                clock,
                Sent("post", "/change-over", {**form, "pin": f"{n:06}"}, cookies=cookies),
            )
            for n in range(guesses)
            if f"{n:06}" != PIN
        )
        SignInTry.objects.all().delete()
    if looked_at > MOST_IN_A_ROW:
        return [f"{looked_at} wrong PINs in a row were looked at"]
    return []


def forged_cookies(site: Site) -> list[str]:
    """Nobody is let in, and no browser known, by a cookie that the server did not make."""
    found = []
    for value in ("1", "x" * 32, "eyJ4IjoxfQ:1abcde:xxxxx", str(site.cast.petra.uuid)):
        for name in ("sessionid", "tablet", "known", "whose"):
            answer = Browser(None).ask(Sent("get", "/review", cookies={name: value}))
            if answer.status != 302:
                found.append(f"{name}={value}: {answer.status}")
    return found


def _form(password: str) -> dict[str, str]:
    return {"username": "omar", "password": password}


def _is_looked_at(site: Site, clock: Any, sent: Sent) -> bool:
    """Whether a wrong guess was compared; what it stored stays."""
    before = SignInTry.objects.filter(counts=True).count()
    with patch("tests.attack.site.transaction.set_rollback"):
        answer = Browser(None).ask(sent)
    clock.shift(datetime.timedelta(minutes=MINUTES))
    assert answer.status == 422, answer
    return SignInTry.objects.filter(counts=True).count() > before
