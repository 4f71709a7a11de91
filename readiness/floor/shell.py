"""The shell of the floor page: what a tablet keeps so that the page opens without a network.

The page itself and the static files that it asks for; all of it is the same for everybody, and
nothing in it is about any person.
"""

import hashlib
import json
from fnmatch import fnmatch
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse

from readiness.floor.on_demand.words import more_words
from readiness.floor.words import words

WORKER = Path(__file__).parent / "worker.js"
# Every static file that the page asks for now or later, by its name before hashing.
SHELL_FILES = ("floor/*.js", "floor/*.css", "css/tokens.css", "fonts/*.woff2", "img/*")


def shell_html() -> str:
    """The floor page in the active language, without a request: nothing of the person who asks
    can get into it."""
    context = {"words": words(), "token_cookie": settings.CSRF_COOKIE_NAME}
    return render_to_string("readiness/floor/floor.html", context)


def more_words_json() -> str:
    """The words of what the page loads on demand, in the active language."""
    return json.dumps(more_words(), ensure_ascii=False)


def worker_script() -> str:
    """The service worker's script. It differs whenever anything that it caches differs."""
    code = WORKER.read_text(encoding="utf-8")
    build = {
        "scope": reverse("floor-start"),
        "shell": reverse("floor-shell"),
        # Of the bytes, hexadecimal: the page and the files it asks for are of one release.
        "shell_sha256": hashlib.sha256(shell_html().encode()).hexdigest(),
        "words": reverse("floor-words"),
        "words_sha256": hashlib.sha256(more_words_json().encode()).hexdigest(),
        "files": static_addresses(),
    }
    version = hashlib.sha256((json.dumps(build) + code).encode()).hexdigest()[:16]
    return f"const BUILD = {json.dumps(build | {'version': version}, indent=1)};\n{code}"


def static_addresses() -> list[str]:
    names = {name for finder in get_finders() for name, _storage in finder.list([".*"])}
    return sorted(
        static(name) for name in names if any(fnmatch(name, pattern) for pattern in SHELL_FILES)
    )
