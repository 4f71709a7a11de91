"""Whose turns a strike may take back."""

from progression.log.lines import LineContext
from progression.models import Attempt, AttemptProof
from readiness.record.told.taken_back import Written
from studio.access import may_grade


def why_not_struck(attempt: Attempt | None, said: Written | None, context: LineContext) -> str:
    """The code of the refusal, or empty. ``attempt`` or ``said``: what the strike takes back, if
    it has come in; of what was said there is more in record/told/taken_back.py.

    Assistants strike their own turns; coaches those of the class too. On somebody's mere word a
    turn is struck by the rights of who sends it; a file, which anybody may have written, strikes
    nothing without a proof but what came as unproven under the same name.
    """
    if context.source == Attempt.Source.FILE and context.proof.is_none:
        allowed = said is None and (attempt is None or _is_as_unproven(attempt, context))
        return "" if allowed else "not-proven"
    striker, in_class = context.answerable, {child.pk for child in context.children.values()}
    if said is not None and said.child not in in_class:
        return "not-yours"
    if attempt is None or attempt.author_id == striker.pk:
        return ""
    return "" if attempt.child_id in in_class and may_grade(striker) else "not-yours"


def _is_as_unproven(attempt: Attempt, context: LineContext) -> bool:
    none = AttemptProof.objects.filter(attempt=attempt, kind=AttemptProof.Kind.NONE)
    return attempt.author_id == context.author.pk and none.exists()
