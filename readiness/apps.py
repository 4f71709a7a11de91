from django.apps import AppConfig


class ReadinessConfig(AppConfig):
    name = "readiness"

    def ready(self) -> None:
        from readiness.typesetting import checks  # noqa: F401  # registers itself
