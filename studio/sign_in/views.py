"""Signing in with a password, and out; choosing one with a link that was handed over."""

from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from studio.audit.chain import note
from studio.models import AuditEntry
from studio.sign_in.forms import NewPasswordForm, SignInForm
from studio.sign_in.known_browser import remember
from studio.sign_in.next_page import own_address
from studio.sign_in.owner_cookie import delete_owner_cookie, set_owner_cookie
from studio.signed_in.sessions import begin
from studio.staff.links import LinkRefused, use_link
from studio.tablets.enrolment import end_sign_in, tablet_of


# Public: nobody can be signed in before signing in.
@login_not_required
def sign_in(request: HttpRequest) -> HttpResponse:
    posted, now = request.method == "POST", timezone.now()
    data = request.POST if posted else None
    form = SignInForm(request, now, data=data)
    if posted and form.is_valid():
        # A new session, also for the same person: what a sign-in by PIN left behind ends.
        end_sign_in(request, now)
        login(request, form.get_user())
        begin(request, now)
        note(AuditEntry.Kind.SIGN_IN, form.get_user(), form.get_user().uuid, now, how="password")
        response = redirect(own_address(request, request.POST.get("next", "")))
        set_owner_cookie(response, form.get_user())
        remember(request, response, form.get_user())
        return response
    status = 422 if posted else 200
    wanted = request.GET.get("next", request.POST.get("next", ""))
    context = {"form": form, "next": wanted, "tablet": tablet_of(request, now)}
    return render(request, "studio/sign_in/sign_in.html", context, status=status)


# Public: signing out twice is not an error.
@login_not_required
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    end_sign_in(request, timezone.now())
    response = redirect("sign-in")
    delete_owner_cookie(response)
    return response


# Public: whoever has the link has no password yet.
@login_not_required
@sensitive_post_parameters()
def new_password(request: HttpRequest) -> HttpResponse:
    posted = request.method == "POST"
    form = NewPasswordForm(request.POST if posted else None)
    if posted and form.is_valid():
        said = form.cleaned_data
        try:
            staff = use_link(said["code"], said["password"], timezone.now())
        except LinkRefused:
            sentence = _(
                "This link is good no more: it was used, more than 72 hours have passed, or there "
                "is a newer one. Ask a director for another."
            )
            form.add_error("code", sentence)
        except ValidationError as error:
            form.add_error("password", error)
        else:
            sentence = _("Your password is chosen. Sign in as “%(name)s”.")
            messages.success(request, sentence % {"name": staff.username})
            return redirect("sign-in")
    status = 422 if posted else 200
    return render(request, "studio/sign_in/new_password.html", {"form": form}, status=status)
