"""What proves whose line it is that comes in. It decides about grading, never about storing."""

import uuid
from collections.abc import Mapping
from functools import cached_property
from typing import Any

from progression.log.line_refusals import read_done_at
from progression.log.lines import LineContext, Proof
from progression.log.pack_token import is_token_of, tokens_count
from progression.log.signatures import is_signed
from progression.models import Attempt, AttemptProof, SigningKey
from studio.models import Staff

# From this form on lines are signed; before, they held a token.
SIGNED_SINCE = 3


class LineProofs:
    """``signed``: by a line's id what came beside it, as it came: {"key", "signature"}."""

    def __init__(self, signed: Mapping[str, Any], context: LineContext) -> None:
        self.context = context
        self._signed = {id_: each for id_, each in signed.items() if isinstance(each, Mapping)}

    def of(self, raw: Mapping[str, Any], author: Staff) -> Proof:
        """A line of one's own session is one's own; any other needs the author's signature."""
        context = self.context
        if author.pk == context.sender.pk and context.source == Attempt.Source.FLOOR:
            return Proof()
        signed = self._signed.get(str(raw.get("id")), {})
        key, signature = self._keys.get(str(signed.get("key"))), signed.get("signature")
        if key and isinstance(signature, str) and self._holds(raw, author, key, signature):
            return Proof(AttemptProof.Kind.KEY, key.pk, signature)
        if context.schema < SIGNED_SINCE and self._has_token(raw, author):
            return Proof(AttemptProof.Kind.TOKEN)
        return Proof(AttemptProof.Kind.NONE)

    def _holds(self, raw: Mapping[str, Any], author: Staff, key: SigningKey, signed: str) -> bool:
        """The signature is of this line, which names its author and its meeting, and the key was
        this author's when it was tapped."""
        named = raw.get("by"), raw.get("meeting")
        if key.staff_id != author.pk or named != (
            str(author.uuid),
            str(self.context.meeting.uuid),
        ):
            return False
        done_at, _ = read_done_at(raw, self.context)
        if key.ended_at is not None and done_at > key.ended_at:
            return False
        return is_signed(raw, signed, key.public_key)

    def _has_token(self, raw: Mapping[str, Any], author: Staff) -> bool:
        context = self.context
        about = str(author.uuid), context.device, str(context.meeting.uuid)
        return is_token_of(raw.get("pack"), *about) and self._tokens_count

    @cached_property
    def _tokens_count(self) -> bool:
        return tokens_count(self.context.now)

    @cached_property
    def _keys(self) -> dict[str, SigningKey]:
        """Asked for once, and only if a line was not sent by its author."""
        ids = set()
        for each in self._signed.values():
            try:
                ids.add(uuid.UUID(each.get("key")))
            except (TypeError, ValueError, AttributeError):
                continue
        return (
            {str(key.uuid): key for key in SigningKey.objects.filter(uuid__in=ids)} if ids else {}
        )
