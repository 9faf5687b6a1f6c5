"""Addresses of the room."""

from django.urls import path

from drills.people import views

app_name = "people"

urlpatterns = [
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("first-password/", views.choose_password, name="choose_password"),
    path("password/", views.password, name="password"),
    path("personal-code/", views.personal_code, name="personal_code"),
    path("personal-code/drop/", views.drop_code, name="drop_code"),
    path("take-over/", views.take_over, name="take_over"),
    path("slips/", views.slips, name="slips"),
    path("codes/<str:employee_number>/", views.new_code, name="new_code"),
    path("mood/", views.mood, name="mood"),
    path("gloves/", views.gloves, name="gloves"),
]
