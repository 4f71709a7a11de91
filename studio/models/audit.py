"""The audit log's one table."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from studio.models.people import Staff


class AuditEntry(models.Model):
    """One thing that somebody did. Append-only; see studio/audit/chain.py.

    ``payload`` (JSON) and ``salt`` (hexadecimal) may be erased: ``commitment`` stays, and the chain
    still holds. ``place`` (from 1) and ``digest`` are filled once, when the entry is chained.
    """

    class Kind(models.TextChoices):
        DECISION = "decision", _("decision")
        STRIKE = "strike", _("turn taken back")
        MERGE = "merge", _("records merged or parted")
        EXPORT = "export", _("record given out")
        ERASURE = "erasure", _("erasing a child")
        ACCOUNT = "account", _("account")
        SIGN_IN = "sign-in", _("sign-in")

    at = models.DateTimeField()
    kind = models.CharField(max_length=10, choices=Kind.choices)
    # Nobody: at the server, or by a rule.
    by = models.ForeignKey(
        Staff, null=True, on_delete=models.PROTECT, related_name="+", db_index=False
    )
    # The public id of the child, the account or the turn that it is about.
    about = models.UUIDField(null=True, db_index=True)
    payload = models.TextField(null=True)
    salt = models.CharField(max_length=64, null=True)
    commitment = models.CharField(max_length=64)
    place = models.PositiveBigIntegerField(null=True, unique=True)
    digest = models.CharField(max_length=64, null=True)

    class Meta:
        indexes = [
            models.Index(fields=["kind", "at"], name="audit_kind_at"),
            models.Index(fields=["at"], name="audit_at"),
        ]
