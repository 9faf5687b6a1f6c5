from django.apps import AppConfig


class RigsConfig(AppConfig):
    name = "drills.rigs"
    label = "rigs"
