"""The forms of an import: upload, how the file is read, and the confirmation.

Shared: used by the tablet file's page too.
"""

import datetime
from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from studio.imports.bring_in import ImportKind
from studio.imports.date_column import ORDERS
from studio.imports.file_text import ENCODINGS, TableFileError
from studio.imports.table_file import DELIMITER_NAMES, DELIMITERS, Table, read_table

# A line of a roster or log has some 100 bytes: 50,000 lines.
MOST_BYTES = 5 * 1024 * 1024
# What its page may be sent: beyond that it is refused unread, a little above with a sentence.
MOST_SENT = MOST_BYTES + 1024 * 1024
DETECT = ("", _("find out from the file"))


class UploadForm(forms.Form):
    file = forms.FileField(
        label=_("File"),
        help_text=_("CSV or text, as your spreadsheet program saves it."),
        allow_empty_file=True,
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.txt,.tsv,text/csv,text/plain"}),
    )

    def clean_file(self) -> Any:
        file = self.cleaned_data["file"]
        if file.size > MOST_BYTES:
            raise forms.ValidationError(
                _("The file is larger than %(most)d MB. Bring it in as several files."),
                params={"most": MOST_BYTES // 1024 // 1024},
            )
        return file


class TableUploadForm(UploadForm):
    """A file that can be read as a table; cleaned, it is its name and its bytes."""

    def clean_file(self) -> tuple[str, bytes]:
        file = super().clean_file()
        data = file.read()
        try:
            read_table(data)
        except TableFileError as error:
            raise forms.ValidationError(str(error)) from None
        return file.name, data


class FileOptionsForm(forms.Form):
    """How a file is read; every field can be left blank, to be detected."""

    encoding = forms.ChoiceField(
        label=_("Letters saved as"), choices=[DETECT, *ENCODINGS.items()], required=False
    )
    delimiter = forms.ChoiceField(
        label=_("Separator"),
        choices=[DETECT, *((n, DELIMITERS[sign]) for n, sign in DELIMITER_NAMES.items())],
        required=False,
    )
    dates = forms.ChoiceField(
        label=_("Dates like 3/4/2016"), choices=[DETECT, *ORDERS.items()], required=False
    )
    usual = forms.ChoiceField(required=False)
    seen = forms.BooleanField(required=False)

    def __init__(
        self,
        kind: ImportKind,
        scope: Any,
        now: datetime.datetime,
        data: Mapping[str, str] | None = None,
        initial: Mapping[str, Any] | None = None,
    ) -> None:
        super().__init__(data, initial=dict(initial or {}))
        field = self.fields["usual"]
        assert isinstance(field, forms.ChoiceField)
        field.label = str(kind.usual_label)
        field.choices = [("", "–"), *kind.usual_choices(scope, now)]
        self.fields["seen"].label = str(kind.seen_label)
        if not kind.seen_label:
            del self.fields["seen"]

    def options(self) -> dict[str, Any]:
        """The cleaned data as the readers take it; None: to be detected."""
        data = self.cleaned_data
        return {
            "encoding": data["encoding"] or None,
            "delimiter": DELIMITER_NAMES.get(data["delimiter"]),
            "dates": data["dates"] or None,
            "usual": data["usual"],
            "seen": data.get("seen", False),
        }


class ConfirmForm(forms.Form):
    """The yes to what the preview shows. ``shown`` is the digest of it."""

    token = forms.UUIDField(widget=forms.HiddenInput)
    shown = forms.CharField(widget=forms.HiddenInput, max_length=64)
    all_or_nothing = forms.BooleanField(
        required=False, label=_("All or nothing: store nothing if a line is left out")
    )

    @property
    def run_once_token(self) -> str:
        return str(self.cleaned_data["token"])

    def confirmed(self) -> dict[str, Any]:
        """The cleaned data as the confirming functions take it."""
        return {name: self.cleaned_data[name] for name in ("all_or_nothing", "shown")}


def file_options_shown(
    options: Mapping[str, Any], table: Table | None = None, dates: str = ""
) -> dict[str, Any]:
    """What the options form shows: what was detected, or what was chosen if nothing was."""
    delimiter = table.delimiter if table else options.get("delimiter")
    names = {sign: name for name, sign in DELIMITER_NAMES.items()}
    return {
        "encoding": (table.encoding if table else options.get("encoding")) or "",
        "delimiter": names.get(delimiter, "") if delimiter is not None else "",
        "dates": dates or options.get("dates") or "",
        "usual": options.get("usual") or "",
        "seen": options.get("seen", False),
    }
