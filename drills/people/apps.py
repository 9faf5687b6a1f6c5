from django.apps import AppConfig


class PeopleConfig(AppConfig):
    name = "drills.people"
    label = "people"
