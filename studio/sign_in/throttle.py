"""Where a wrong password or a wrong PIN counts: it makes the next try wait.

A PIN's are counted by account and tablet, a password's by account and browser: each browser that
the account is known in by itself, all others together (known_browser.py), so that a stranger's
guesses never close the door to whoever has been here before. Never by network address: behind one
router a whole studio has the same address, and the headers that claim another can be forged. The
counts are in the database, so that they hold over all processes. A try of the future, from before
a clock was put back, makes nobody wait.

A try is stored as wrong before it is checked, and no longer counts if it was right: of many
guesses sent at the same moment every one counts.
Shared: used by the tablets' pages, which show who waits.
"""

import datetime

from django.db import transaction
from django.db.models import Count, Max, QuerySet

from studio.models import SignInTry, Staff, Tablet
from studio.sign_in.known_browser import UNKNOWN

# So many wrong tries in a row are free; then the wait doubles with each, up to the longest.
FREE = 5
# So many wrong tries in a row close an account there, until a right one elsewhere or
# ``manage.py open_account`` (NIST SP 800-63B-4, 3.2.2: at most 100).
MOST_IN_A_ROW = 100
# The same for all tries on one tablet within the hour, at anybody's PIN.
FREE_AT_A_TABLET = 20
WITHIN = datetime.timedelta(hours=1)
FIRST_WAIT = datetime.timedelta(seconds=30)
LONGEST_WAIT = datetime.timedelta(hours=1)
NEVER = datetime.datetime.max.replace(tzinfo=datetime.UTC)


def wait_after(wrong: int, free: int = FREE) -> datetime.timedelta:
    """How long after the last of so many wrong tries the next one has to wait."""
    if wrong < free:
        return datetime.timedelta()
    # The exponent is cut where the wait has long reached its longest.
    return min(FIRST_WAIT * 2 ** min(wrong - free, 16), LONGEST_WAIT)


def begin(
    staff: Staff, tablet: Tablet | None, now: datetime.datetime, browser: str = UNKNOWN
) -> bool:
    """Store a try, as wrong; False if it has to wait and must not be checked.

    ``tablet`` is None for a try at a password, ``browser`` the one that it comes from. A try that
    has to wait is not counted, so that tapping on does not lengthen the wait.
    """
    with transaction.atomic():
        _queue(staff, tablet)
        if now < may_try_at(staff, tablet, now, browser):
            return False
        SignInTry.objects.create(staff=staff, tablet=tablet, browser=browser, at=now)
        return True


def _queue(staff: Staff, tablet: Tablet | None) -> None:
    """Tries that are counted together come one after the other."""
    rows: QuerySet[Tablet] | QuerySet[Staff]
    if tablet is None:
        rows = Staff.objects.filter(pk=staff.pk)
    else:
        rows = Tablet.objects.filter(pk=tablet.pk)
    # no_key: rows that only refer to this one need not wait.
    rows.select_for_update(no_key=True).values_list("pk").get()


def may_try_at(
    staff: Staff, tablet: Tablet | None, now: datetime.datetime, browser: str = UNKNOWN
) -> datetime.datetime:
    """The moment from which the next try is checked; ``now`` or before: at once."""
    counted = SignInTry.objects.filter(tablet=tablet, browser=browser, counts=True)
    own = counted.filter(staff=staff)
    if own.count() >= MOST_IN_A_ROW:
        return NEVER
    at = _free_from(own, FREE, now)
    if tablet is None:
        return at
    return max(at, _free_from(counted.filter(at__gt=now - WITHIN), FREE_AT_A_TABLET, now))


def _free_from(tries: QuerySet[SignInTry], free: int, now: datetime.datetime) -> datetime.datetime:
    counted = tries.filter(at__lte=now).aggregate(wrong=Count("pk"), last=Max("at"))
    return now if counted["last"] is None else counted["last"] + wait_after(counted["wrong"], free)


def forget(staff: Staff, tablet: Tablet | None) -> None:
    """After a right one: wrong tries of the same person there no longer count; after a right
    password those in any browser."""
    SignInTry.objects.filter(staff=staff, tablet=tablet, counts=True).update(counts=False)


def open_account(staff: Staff) -> int:
    """No wrong try of theirs counts any longer, anywhere; how many did."""
    return SignInTry.objects.filter(staff=staff, counts=True).update(counts=False)


def unlock(tablet: Tablet) -> None:
    """Wrong tries on this tablet no longer count."""
    SignInTry.objects.filter(tablet=tablet, counts=True).update(counts=False)


def waiting(tablet: Tablet, now: datetime.datetime) -> list[Staff]:
    """The staff whose next try on this tablet has to wait."""
    counted = SignInTry.objects.filter(tablet=tablet, counts=True).values("staff")
    mistyped = Staff.objects.filter(pk__in=counted).order_by("first_name", "last_name", "pk")
    return [staff for staff in mistyped if now < may_try_at(staff, tablet, now)]
