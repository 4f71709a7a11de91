"""How much hands help. Shared: used wherever support is read or shown."""

from enum import IntEnum


class Support(IntEnum):
    """More is more support."""

    UNSPOTTED = 0
    STANDING_BY = 1
    LIGHT_TOUCH = 2
    HANDS_ON = 3

    @property
    def code(self) -> str:
        return self.name.lower().replace("_", "-")


SUPPORT_BY_CODE = {support.code: support for support in Support}
