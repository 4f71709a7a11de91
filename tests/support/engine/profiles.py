"""How hard the properties are searched.

``steady`` (the default, and in CI) tries the same examples every time and shows a failure as
it was found. To look for new counter-examples, and for small ones:
``HYPOTHESIS_PROFILE=search pytest tests/engine``.
"""

import os

from hypothesis import HealthCheck, Phase, settings

SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much]

settings.register_profile(
    "steady",
    max_examples=60,
    derandomize=True,
    database=None,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=SLOW,
)
settings.register_profile(
    "search",
    max_examples=600,
    derandomize=False,
    database=None,
    deadline=None,
    print_blob=True,
    suppress_health_check=SLOW,
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))


def times(share):
    """So many times the examples of the profile."""
    return settings(max_examples=max(1, round(settings.default.max_examples * share)))


FEW, SOME, MANY = times(0.4), times(0.7), times(2.5)
