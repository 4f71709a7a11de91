"""Who is signed in where, and signing somebody out everywhere else."""

from collections import Counter

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from studio import access
from studio.signed_in.forms import EndForm
from studio.signed_in.sessions import end_everywhere, open_sign_ins


@require_safe
def sign_ins(request: HttpRequest) -> HttpResponse:
    """One's own; for directors those of their halls too."""
    return _page(request)


def _page(request: HttpRequest, status: int = 200) -> HttpResponse:
    me = access.staff_of(request)
    found = open_sign_ins(access.whose_sign_ins_they_see(me), request, timezone.now())
    ends = set(access.whose_sign_ins_they_end(me).values_list("pk", flat=True))
    counts = Counter(each.staff.pk for each in found)
    rows = [
        {"open": each, "may_end": each.staff.pk in ends and counts[each.staff.pk] > each.here}
        for each in found
    ]
    return render(request, "studio/signed_in/sign_ins.html", {"rows": rows}, status=status)


@require_POST
def sign_ins_end(request: HttpRequest) -> HttpResponse:
    me = access.staff_of(request)
    form = EndForm(access.whose_sign_ins_they_end(me), request.POST)
    if not form.is_valid():
        return _page(request, status=422)
    who = form.cleaned_data["who"]
    ended = end_everywhere(who, timezone.now(), but=request.session.session_key)
    sentence = ngettext("%(name)s: %(n)d sign-in ended.", "%(name)s: %(n)d sign-ins ended.", ended)
    messages.success(request, sentence % {"name": who.called, "n": ended})
    return redirect("sign-ins")
