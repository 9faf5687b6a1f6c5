from django.apps import AppConfig


class FormularyConfig(AppConfig):
    name = "drills.formulary"
    label = "formulary"
