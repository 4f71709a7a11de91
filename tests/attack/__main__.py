"""python -m tests.attack [THEME…] [--full]

On SQLite, and on PostgreSQL as well where DATABASE_URL names one; ends with 1 on a finding.
"""

import argparse
import importlib
import os
import pkgutil
import subprocess
import sys
import time

import tests.attack

# In this process the themes run; the process without it starts one for each database.
INSIDE = "LADDER_ATTACKED"


def themes() -> list[str]:
    """The modules that have a ``run``, by name, without loading them."""
    helpers = {"__main__", "site", "under_load", "values"}
    names = (module.name for module in pkgutil.iter_modules(tests.attack.__path__))
    return sorted(name for name in names if not name.startswith("test_") and name not in helpers)


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.attack")
    parser.add_argument("themes", nargs="*", metavar="THEME", help=", ".join(themes()))
    parser.add_argument("--full", action="store_true", help="as long as it takes")
    said = parser.parse_args()
    if unknown := set(said.themes) - set(themes()):
        parser.error(f"no such theme: {', '.join(sorted(unknown))}")
    if INSIDE in os.environ:
        return attack(said.themes or themes(), said.full)
    plain = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    databases = {"SQLite": plain}
    if os.environ.get("DATABASE_URL", "").startswith("postgres"):
        databases["PostgreSQL"] = dict(os.environ)
    worst = 0
    for name, environment in databases.items():
        print(f"{name}:", flush=True)
        command = [sys.executable, "-m", "tests.attack", *sys.argv[1:]]
        done = subprocess.run(command, env=environment | {INSIDE: "1"}, check=False)
        worst = max(worst, done.returncode)
    return worst


def attack(names: list[str], full: bool) -> int:
    """Run the themes on the database of the settings; 1 if anything was found."""
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    os.environ["LOG_LEVEL"] = "CRITICAL"
    import django
    from django.core.management import call_command
    from django.test.utils import setup_test_environment

    django.setup()
    setup_test_environment()
    call_command("collectstatic", interactive=False, verbosity=0)
    from tests.attack.site import asked

    found_any = False
    for name in names:
        before, began = asked["requests"], time.monotonic()
        found = importlib.import_module(f"tests.attack.{name}").run(full)
        seconds, requests = time.monotonic() - began, asked["requests"] - before
        print(f"  {name}: {requests} requests, {seconds:.0f} s, {len(found)} found", flush=True)
        for finding in found:
            print(f"    {finding}", flush=True)
        found_any = found_any or bool(found)
    return int(found_any)


if __name__ == "__main__":
    sys.exit(main())
