from django.apps import AppConfig


class RunsConfig(AppConfig):
    name = "drills.runs"
    label = "runs"
