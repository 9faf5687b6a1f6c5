from django.apps import AppConfig


class ScenariosConfig(AppConfig):
    name = "drills.scenarios"
    label = "scenarios"
