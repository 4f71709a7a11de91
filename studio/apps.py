from django.apps import AppConfig


class StudioConfig(AppConfig):
    name = "studio"

    def ready(self) -> None:
        from studio.db import checks  # noqa: F401  # registers itself
