"""Addresses of the page that plans."""

from __future__ import annotations

from django.urls import path

from pacewright.desk.planning import kept_walk, views

urlpatterns = [
    path("plan", views.plan, name="plan"),
    path("plan/sheets", views.plan_sheets_pdf, name="plan_sheets"),
    path("plan/features/new", views.hand_in_features, name="hand_in_features"),
    path("plan/features/<uuid:features_id>/away", views.throw_away_features, name="throw_away_features"),
    path("plan/kept", kept_walk.plan_kept_view, name="plan_kept"),
    path("plan/kept/sheet", kept_walk.plan_kept_sheet, name="plan_kept_sheet"),
    path("plan/log", views.plan_log, name="plan_log"),
]
