"""What a changed password ends: the PIN. Django ends the sessions by itself, by their hash.

It stands among the validators because Django tells these, and nothing else, of a new password,
whichever page or command it comes from; a password that is only hashed anew is none.
"""

from django.contrib.auth.models import AbstractBaseUser

from studio.models import Pin


class EndsPin:
    def validate(self, password: str, user: AbstractBaseUser | None = None) -> None:
        """It refuses nothing."""

    def get_help_text(self) -> str:
        return ""

    def password_changed(self, password: str, user: AbstractBaseUser | None = None) -> None:
        if user is not None:
            Pin.objects.filter(staff=user.pk).delete()
