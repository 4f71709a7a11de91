"""Children and coaches, looked up by the names that the paper uses."""

from collections.abc import Iterable

from django.utils.translation import gettext as _

from progression.paper.words import WordError
from studio.models import Child, Staff
from studio.people.names import fold_name, in_speaking_order


class People:
    """Finds only the children and coaches that the sender may see."""

    def __init__(self, children: Iterable[Child], coaches: Iterable[Staff], sender: Staff) -> None:
        self.sender = sender
        self.by_id: dict[str, Child] = {}
        self.by_name: dict[str, list[Child]] = {}
        for child in children:
            if child.list_id:
                self.by_id[child.list_id] = child
            for name in {child.name_key, fold_name(child.name_used)} - {""}:
                self.by_name.setdefault(name, []).append(child)
        self.coaches: dict[str, set[Staff]] = {}
        for coach in coaches:
            for name in {coach.username, coach.get_full_name(), coach.first_name} - {""}:
                self.coaches.setdefault(fold_name(name), set()).add(coach)

    def child(self, name: str, list_id: str, birth: tuple[int, int] | None) -> Child:
        """The child of this id; without id, of this name or name used (and birth, if given)."""
        if list_id:
            if list_id not in self.by_id:
                raise WordError(_("There is no child with the id %(id)s here.") % {"id": list_id})
            return self.by_id[list_id]
        if not name:
            raise WordError(_("The child is missing."))
        fitting = self.by_name.get(fold_name(in_speaking_order(name)), [])
        if birth:
            fitting = [c for c in fitting if (c.birth_year, c.birth_month) == birth]
        if not fitting:
            raise WordError(
                _("There is no child called “%(name)s” here. Bring the roster in first.")
                % {"name": name}
            )
        if len(fitting) > 1:
            raise WordError(
                _(
                    "More than one child fits “%(name)s”. Add a column “birth” (year and "
                    "month) or “id” that says which."
                )
                % {"name": name}
            )
        return fitting[0]

    def coach(self, name: str) -> Staff:
        """The coach of this sign-in name, full name or first name; the sender if none is given."""
        if not name:
            return self.sender
        fitting = self.coaches.get(fold_name(name), set())
        if not fitting:
            raise WordError(_("There is no coach called “%(name)s” here.") % {"name": name})
        if len(fitting) > 1:
            raise WordError(
                _("More than one coach is called “%(name)s”. Write the name used to sign in.")
                % {"name": name}
            )
        return next(iter(fitting))
