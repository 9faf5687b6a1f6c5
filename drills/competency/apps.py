from django.apps import AppConfig


class CompetencyConfig(AppConfig):
    name = "drills.competency"
    label = "competency"
