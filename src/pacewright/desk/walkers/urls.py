"""Addresses of walkers, and of what teaches about them."""

from __future__ import annotations

from django.urls import path

from pacewright.desk.walkers import views_learning, views_walkers

urlpatterns = [
    path("walkers", views_walkers.walkers, name="walkers"),
    path("walkers/new", views_walkers.walker_new, name="walker_new"),
    path("walkers/<uuid:walker_id>", views_walkers.walker, name="walker"),
    path("walkers/<uuid:walker_id>/compass", views_walkers.walker_compass, name="walker_compass"),
    path("walkers/<uuid:walker_id>/name", views_walkers.walker_name, name="walker_name"),
    path("walkers/<uuid:walker_id>/import", views_walkers.walker_import, name="walker_import"),
    path("walkers/<uuid:walker_id>/learn", views_learning.learn, name="learn"),
    path("walkers/<uuid:walker_id>/learn/keep", views_learning.keep_learnt, name="keep_learnt"),
    path("walkers/<uuid:walker_id>/compare", views_learning.compare, name="compare"),
    path("walkers/<uuid:walker_id>/history", views_walkers.walker_history, name="walker_history"),
    path("walkers/<uuid:walker_id>/files/<str:kind>", views_walkers.walker_file, name="walker_file"),
    path("logs/<uuid:log_id>/walker", views_walkers.choose_walker, name="choose_walker"),
    path("logs/<uuid:log_id>/track", views_learning.track, name="track"),
]
