"""Children and coaches, looked up by the names that the paper uses."""

from collections.abc import Iterable
from difflib import get_close_matches

from django.utils.translation import gettext as _

from progression.paper.words import UnknownWord, WordError
from studio.imports.words import Choices
from studio.models import Child, Staff
from studio.people.names import fold, fold_name, in_speaking_order
from studio.people.told_apart import full_names

# So many children are offered for a name that nobody has.
_OFFERED = 8
# Year and month, or only the year.
Birth = tuple[int, int | None]


class People:
    """Finds only the children and coaches that the sender may see."""

    def __init__(self, children: Iterable[Child], coaches: Iterable[Staff], sender: Staff) -> None:
        self.sender = sender
        self.by_id: dict[str, Child] = {}
        self.by_uuid: dict[str, Child] = {}
        self.by_name: dict[str, list[Child]] = {}
        # The same without accents.
        self.by_plain_name: dict[str, list[Child]] = {}
        for child in children:
            self.by_uuid[str(child.uuid)] = child
            if child.list_id:
                self.by_id[child.list_id] = child
            for name in {child.name_key, fold_name(child.name_used)} - {""}:
                self.by_name.setdefault(name, []).append(child)
            for name in {fold(child.name), fold(child.name_used)} - {""}:
                self.by_plain_name.setdefault(name, []).append(child)
        self.coaches: dict[str, set[Staff]] = {}
        self.by_username: dict[str, Staff] = {}
        for coach in coaches:
            self.by_username[coach.username] = coach
            for name in {coach.username, coach.get_full_name(), coach.first_name} - {""}:
                self.coaches.setdefault(fold(name), set()).add(coach)

    def child(self, name: str, list_id: str, birth: Birth | None, group: str) -> Child:
        """The child of this id; without id, of this name or name used, and of this birth and
        class, as far as they are needed to tell two apart."""
        if list_id:
            if list_id not in self.by_id:
                raise WordError(_("There is no child with the id %(id)s here."), id=list_id)
            return self.by_id[list_id]
        if not name:
            raise WordError(_("The child is missing."))
        if name in self.by_uuid:
            return self.by_uuid[name]
        fitting = self._of_name(name, group)
        if birth:
            fitting = [c for c in fitting if _may_be_born(c, *birth)]
        word = child_word(name, group, birth)
        if not fitting:
            sentence = _("There is no child called “%(name)s” here. Bring the roster in first.")
            raise UnknownWord("child", word, sentence, name=name)
        if len({child.root for child in fitting}) > 1:
            sentence = _(
                "More than one child fits “%(name)s”. Add a column “class”, “birth” (year and "
                "month) or “id” that says which."
            )
            raise UnknownWord("child", word, sentence, name=name)
        # Of several records of one child, the one that stands for it.
        return min(fitting, key=lambda child: (child.root != child.pk, child.pk))

    def _of_name(self, name: str, group: str) -> list[Child]:
        spoken = in_speaking_order(name)
        fitting = self.by_name.get(fold_name(spoken)) or self.by_plain_name.get(fold(spoken), [])
        if len(fitting) < 2 or not group:
            return fitting
        return [c for c in fitting if _is_in(c, group)] or fitting

    def who_may_be_meant(self, word: str) -> Choices:
        """The children that fit a name; if none does, those whose names come near."""
        name, _dot, group = word.partition(_BETWEEN)
        children = self._of_name(name, group.partition(_BETWEEN)[0])
        if not children:
            near = get_close_matches(fold(name), self.by_plain_name, n=_OFFERED, cutoff=0.5)
            children = [child for each in near for child in self.by_plain_name[each]]
        names = full_names({child.pk: child for child in children}.values())
        by_key = {child.pk: child for child in children}
        return [(str(by_key[pk].uuid), name) for pk, name in names.items()]

    def coach(self, name: str) -> Staff:
        """The coach of this sign-in name, full name or first name; the sender if none is given."""
        if not name:
            return self.sender
        if name in self.by_username:
            return self.by_username[name]
        fitting = self.coaches.get(fold(name), set())
        if not fitting:
            sentence = _("There is no coach called “%(name)s” here.")
            raise UnknownWord("coach", name, sentence, name=name)
        if len(fitting) > 1:
            sentence = _(
                "More than one coach is called “%(name)s”. Write the name used to sign in."
            )
            raise UnknownWord("coach", name, sentence, name=name)
        return next(iter(fitting))


_BETWEEN = " · "


def child_word(name: str, group: str, birth: Birth | None) -> str:
    """Who is meant, in the words of the line."""
    born = "-".join(f"{part:02d}" for part in birth or () if part)
    return _BETWEEN.join([name, group, born]).rstrip(_BETWEEN)


def _may_be_born(child: Child, year: int, month: int | None) -> bool:
    return child.birth_year == year and (month is None or child.birth_month in (month, None))


def _is_in(child: Child, group: str) -> bool:
    return any(fold(group) in (fold(c.name), fold(c.shown)) for c in child.classes.all())
