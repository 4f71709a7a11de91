"""What no form expects: texts, numbers, dates and ids at and beyond every edge."""

import random
import uuid
from typing import Any

TEXTS = (
    "", " ", "\0", "a\0b", "\ufeff", "\u202e", "\u0301" * 40, "\U0001f938" * 60, "\ufffe",
    "null", "None", "true", "[]", "{}", "undefined", "NaN", "-Infinity", "1e999", "1_0", "0x10",
    "-1", "-0", "٣", "²", "½", "1" * 5000, "9" * 400, str(2**31), str(2**63), str(2**64),
    str(10**40),
    "0001-01-01", "9999-12-31", "2026-02-30", "2026-13-01", "0000-00-00", "23:59:60", "24:00",
    "9999-12-31T23:59:59.999999+14:00", "0001-01-01T00:00:00-23:59", "2026-03-04T18:00:00",
    "http://[::1", "//evil.example", "javascript:alert(1)", "http:///x", "/\\evil.example",
    "/..//..",
    "../../etc/passwd", "%00", "%", "%ff", "%s%n", "{0}", "{{7*7}}", "${7*7}", "' OR 1=1 --",
    "<script>alert(1)</script>", "\r\nX: y", "\x1b[2J", "\x85", "\x7f", "a" * 70_000,
    str(uuid.UUID(int=0)), str(uuid.UUID(int=2**128 - 1)), "{00000000-0000-0000-0000-000000000000}",
    "urn:uuid:00000000-0000-0000-0000-000000000000", "1.clear", "4.back-walkover", "wrist", "fall",
)  # fmt: skip
# What JSON can bring besides: half characters, numbers beyond any column, depth.
VALUES: tuple[Any, ...] = (
    *TEXTS, "\ud800", "x\udfff", None, True, False, 0, -1, 1, 3, 4, 2**31, 2**63, 2**64,
    -(2**63) - 1,
    10**400, 0.5, 1e308, 5e-324, -0.0, [], [None], [[]], [["arms-give"]], ["arms-give"] * 500, {},
    {"id": 1}, {"": ""},
)  # fmt: skip
HEADERS = (
    "Accept", "Accept-Language", "Accept-Encoding", "HX-Request", "HX-Current-URL", "HX-Target",
    "HX-Boosted", "HX-Trigger", "HX-Prompt", "HX-Current-URL-URI-AutoEncoded", "Referer", "Origin",
    "Host", "X-Forwarded-Host", "X-Forwarded-Proto", "X-Forwarded-For", "X-CSRFToken", "Range",
    "If-Modified-Since", "If-None-Match", "If-Match", "User-Agent", "X-HTTP-Method-Override",
    "Authorization", "Sec-Fetch-Site", "X-Requested-With",
)  # fmt: skip
COOKIES = ("sessionid", "csrftoken", "tablet", "whose", "messages", "django_language", "known")
# An octal escape in quotes is how a cookie brings any byte.
COOKIE_VALUES = (
    r'"\000\000\000\000\000\000\000\000\000"', r'"\377\376\375aaaaaaaa"', '"\\"', "a" * 5000,
    "x:y:z",
    "eyJhIjoxfQ:1:x", "%00", "....", r'"\012\015aaaaaaaa"', r'"\355\240\200aaaaaaaa"',
)  # fmt: skip
CONTENT_TYPES = (
    "text/plain", "application/json", "application/x-www-form-urlencoded; charset=utf-16",
    "application/x-www-form-urlencoded; charset=hex", "multipart/form-data", "", ";;;",
    "multipart/form-data; boundary=x; charset=hex", "multipart/form-data; boundary=x; charset=idna",
    "multipart/form-data; boundary=" + "b" * 300, "application/json; charset=rot13",
    "multipart/form-data; boundary=x; charset=utf-16", "multipart/form-data; boundary=\xe4",
)  # fmt: skip


def as_header(value: str) -> str:
    """As a server hands a header over: bytes read as Latin-1, no ends of lines, no zero."""
    plain = value.encode("utf-8", "surrogatepass").decode("latin-1")
    return "".join(letter for letter in plain if letter not in "\r\n\0")[:6000]


def mutated(chance: random.Random, value: Any) -> Any:
    """The value with something else in one place of it."""
    if isinstance(value, dict) and value and chance.random() < 0.9:
        name = chance.choice(sorted(value))
        if chance.random() < 0.1:
            return {key: each for key, each in value.items() if key != name}
        return {**value, name: mutated(chance, value[name])}
    if isinstance(value, list) and value and chance.random() < 0.9:
        at = chance.randrange(len(value))
        return [*value[:at], mutated(chance, value[at]), *value[at + 1 :]]
    if isinstance(value, str) and value and chance.random() < 0.2:
        at = chance.randrange(len(value))
        return value[:at] + str(chance.choice(TEXTS))[:50] + value[at + 1 :]
    return chance.choice(VALUES)
