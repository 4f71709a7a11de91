from django.apps import AppConfig


class ProgressionConfig(AppConfig):
    name = "progression"
