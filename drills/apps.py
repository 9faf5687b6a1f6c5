from django.apps import AppConfig


class DrillsConfig(AppConfig):
    """The parent of the rooms; installed for its static files only."""

    name = "drills"
    label = "drills"
