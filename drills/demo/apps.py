from django.apps import AppConfig


class DemoConfig(AppConfig):
    name = "drills.demo"
    label = "demo"
