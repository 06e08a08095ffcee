"""Every address of the desk."""

from __future__ import annotations

from django.urls import include, path

from pacewright.desk.classes import views_guests
from pacewright.desk.classes.card import entry_context, learner_home
from pacewright.desk.notebook import views_history, views_known, views_notebook
from pacewright.desk.serving import offline, old_doors, views_door, views_habits

handler400 = "pacewright.desk.serving.guards.wrong_request"
handler404 = "pacewright.desk.serving.guards.not_found"
handler500 = "pacewright.desk.serving.guards.unexpected"

# What a class shows on the pages of the notebook is handed in here: the notebook knows of no class.
urlpatterns = [
    path("", views_notebook.home, {"beside": learner_home}, name="home"),
    path("open/<str:token>", views_door.open_link, name="open"),
    path("join", views_door.join, name="join"),
    path("worker.js", offline.worker, name="worker"),
    path(old_doors.LEFT_BEHIND, old_doors.left_behind, name="left_behind"),
    path("leave", views_door.leave, name="leave"),
    path("devices", views_door.devices, name="devices"),
    path("settings", views_habits.habits, name="habits"),
    path("devices/guests", views_guests.guests, name="guests"),
    path("logs/new", views_notebook.begin, name="begin"),
    path("logs/<uuid:log_id>", views_notebook.notebook, {"beside": entry_context}, name="notebook"),
    path("", include("pacewright.desk.readings.urls")),
    path("", include("pacewright.desk.walkers.urls")),
    path("logs/<uuid:log_id>/changes", views_notebook.changes, name="changes"),
    path("logs/<uuid:log_id>/since", views_notebook.since, name="since"),
    path("logs/<uuid:log_id>/history", views_history.history, name="history"),
    path("logs/<uuid:log_id>/history/restore", views_history.restore, name="restore_state"),
    path("logs/<uuid:log_id>/known-places", views_known.known_places, name="known_places"),
    path("logs/<uuid:log_id>/page", views_notebook.save_page, name="save_page"),
    path("logs/<uuid:log_id>/answer", views_notebook.answer, name="answer"),
    path("", include("pacewright.desk.classes.urls")),
    path("", include("pacewright.desk.books.urls")),
    path("", include("pacewright.desk.ask.urls")),
    path("", include("pacewright.desk.planning.urls")),
    path("", include("pacewright.desk.photographs.urls")),
]
