"""The folder of typefaces is looked at when a command begins, not at the first letter."""

from typing import Any

from django.core.checks import CheckMessage, Error, register
from django.core.exceptions import ImproperlyConfigured

from readiness.typesetting.faces import faces


@register()
def typefaces_can_be_used(**kwargs: Any) -> list[CheckMessage]:
    try:
        faces()
    except ImproperlyConfigured as fault:
        return [Error(str(fault), id="readiness.E001")]
    return []
