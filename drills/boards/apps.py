from django.apps import AppConfig


class BoardsConfig(AppConfig):
    name = "drills.boards"
    label = "boards"
