"""Addresses of the page that plans."""

from __future__ import annotations

from django.urls import path

from pacewright.desk.planning import views

urlpatterns = [
    path("plan", views.plan, name="plan"),
    path("plan/sheets", views.plan_sheets_pdf, name="plan_sheets"),
    path("plan/log", views.plan_log, name="plan_log"),
]
