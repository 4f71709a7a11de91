"""Pages as staff use them: read as words, and their forms sent as they stand."""

import re

from django.test import Client

from studio.models import Staff
from tests.support.cast import TODAY
from tests.support.ready import MAT


def signed_in(staff: Staff) -> Client:
    """The browser of somebody who has signed in."""
    client = Client()
    client.force_login(staff)
    return client


def field(html, form, name):
    """The value of a hidden field in the form that posts to an address ending in ``form``."""
    part = re.search(rf'<form[^>]*action="[^"]*/{form}".*?</form>', html, re.S)
    assert part, f"no form {form}"
    found = re.search(rf'name="{name}"[^>]*value="([^"]*)"', part.group())
    return found.group(1) if found else ""


def filled(html, form, **more):
    names = ("token", "digest", "last", "ladder", "drill", "support")
    return {name: field(html, form, name) for name in names} | more


def get(client, who, address):
    client.force_login(who)
    return client.get(address)


def text_of(answer):
    """The words of a page, with single spaces."""
    body = re.search(r"<main.*?</main>", answer.content.decode(), re.S).group()
    return " ".join(re.sub(r"<[^>]+>", " ", body).split())


def evidence(client, who, child, stage="4"):
    return get(client, who, f"/children/{child.uuid}/evidence/{stage}")


def decide(client, who, child, verb, html=None, stage="4", **more):
    """Send a form as it stands on the evidence page; whoever signs saw it today."""
    html = html or evidence(client, who, child, stage).content.decode()
    if verb == "sign":
        more = {"seen_on": TODAY} | more
    client.force_login(who)
    address = f"/children/{child.uuid}/{verb}/{stage}"
    return client.post(address, filled(html, f"{verb}/{stage}", **more))


def recommended(client, who, child):
    answer = decide(client, who, child, "recommend", surface=MAT, reason="three calm classes")
    assert answer.status_code == 302
