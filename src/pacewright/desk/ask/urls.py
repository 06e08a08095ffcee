"""Addresses of the pages of questions."""

from __future__ import annotations

from django.urls import path

from pacewright.desk.ask import views

urlpatterns = [
    path("ask", views.ask_index, name="ask"),
    path("ask/<str:name>", views.ask_page, name="ask_page"),
]
