"""Addresses of the pages that read a log: the way back, how it closes, adjusted, on the map."""

from __future__ import annotations

from django.urls import path

from pacewright.desk.readings import (
    views_adjusted,
    views_closing,
    views_fixes,
    views_large,
    views_locate,
    views_map,
    views_way,
)

urlpatterns = [
    path("logs/<uuid:log_id>/way", views_way.way, name="way"),
    path("logs/<uuid:log_id>/closing", views_closing.closing, name="closing"),
    path("logs/<uuid:log_id>/closing/correct", views_closing.correct, name="correct"),
    path("logs/<uuid:log_id>/adjusted", views_adjusted.adjusted, name="adjusted"),
    path("logs/<uuid:log_id>/adjusted/learn", views_adjusted.learn_from, name="learn_from"),
    path("logs/<uuid:log_id>/figure", views_large.large_figure, name="large_figure"),
    path("logs/<uuid:log_id>/fixes", views_fixes.fixes, name="fixes"),
    path("logs/<uuid:log_id>/map", views_map.on_map, name="on_map"),
    path("logs/<uuid:log_id>/map/unknown-start", views_locate.located, name="locate"),
    path("logs/<uuid:log_id>/map/start", views_map.save_start, name="save_start"),
    path("logs/<uuid:log_id>/map/ground", views_map.ground_sheet, name="ground_sheet"),
    path("logs/<uuid:log_id>/map/ground/new", views_map.hand_in_ground, name="hand_in_ground"),
    path("grounds/<uuid:ground_id>/throw", views_map.throw_away_ground, name="throw_away_ground"),
]
