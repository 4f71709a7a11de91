"""The form with which a file saved from a tablet is brought in."""

from typing import Any

from django.utils.translation import gettext as _

from studio.imports.forms import UploadForm


class OutboxFileForm(UploadForm):
    """The file that a tablet saved."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["file"]
        field.help_text = _("As the tablet saved it: its name ends in .json.")
        field.widget.attrs["accept"] = ".json,application/json"
