"""The sentences of what happened."""

from collections.abc import Sequence

from django.utils.formats import number_format
from django.utils.functional import Promise as Lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from readiness.engine.statistics.rates import Rate
from readiness.models import IncidentAccount
from readiness.record.told.incidents import Start
from readiness.words.names import Names
from studio.templatetags.marks import SUPPORT_WORDS

Kind = IncidentAccount.Kind
# As the head of a row, for one and for many.
KINDS: dict[str, Lazy] = {
    Kind.HEAD: gettext_lazy("Head or neck"),
    Kind.FALL: gettext_lazy("Fall"),
    Kind.CAUGHT: gettext_lazy("Near miss: caught"),
    Kind.OTHER: gettext_lazy("Something else"),
}


def start_text(names: Names, start: Start) -> str:
    """One line of the floor."""
    if start.place:
        return _("hurt: %(place)s") % {"place": names.place(start.place)}
    if not start.drill:
        return _("fell")
    what = _("the head touched") if start.kind == Kind.HEAD else _("caught")
    values = {"what": what, "drill": names.drill(start.drill)}
    values |= {"surface": names.surface(start.surface)}
    values |= {"support": str(SUPPORT_WORDS[start.support or 0])}
    return _("%(what)s, at %(drill)s, %(support)s, on %(surface)s") % values


def account_facts(names: Names, account: IncidentAccount) -> Sequence[tuple[str, str]]:
    """What was written down, each with its head; a near miss may have no first aid."""
    drill = names.drill(account.drill.key) if account.drill else _("not at a drill")
    surface = names.surface(account.surface.key) if account.surface else _("none")
    support = str(SUPPORT_WORDS[account.support]) if account.support is not None else ""
    facts = [
        (_("What it was"), str(KINDS[account.kind])),
        (_("At which drill"), drill),
        (_("Support"), support or _("not at a turn")),
        (_("Surface"), surface),
        (_("Mats, and what lay or stood around"), account.mats),
        (_("What happened"), account.what),
        (_("What hurts, or was hit"), names.place(account.hurt) if account.hurt else _("nothing")),
        (_("First aid, and by whom"), account.first_aid),
    ]
    return [(head, text) for head, text in facts if text]


def rate_text(rate: Rate | None) -> str:
    if rate is None:
        return _("too few to say")
    # Rounded first: number_format cuts.
    rounded = {name: round(getattr(rate, name), 1) for name in ("rate", "lower", "upper")}
    values = {name: number_format(value, 1) for name, value in rounded.items()}
    return _("%(rate)s per 1,000 turns (between %(lower)s and %(upper)s)") % values
