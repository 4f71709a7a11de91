from django.apps import AppConfig


class ReadinessConfig(AppConfig):
    name = "readiness"
