"""Every address of the desk."""

from __future__ import annotations

from django.urls import include, path

from pacewright.desk import (
    offline,
    old_doors,
    views_door,
    views_guests,
    views_habits,
    views_history,
    views_notebook,
)

handler400 = "pacewright.desk.guards.wrong_request"
handler404 = "pacewright.desk.guards.not_found"
handler500 = "pacewright.desk.guards.unexpected"

urlpatterns = [
    path("", views_notebook.home, name="home"),
    path("open/<str:token>", views_door.open_link, name="open"),
    path("join", views_door.join, name="join"),
    path("worker.js", offline.worker, name="worker"),
    path(old_doors.LEFT_BEHIND, old_doors.left_behind, name="left_behind"),
    path("leave", views_door.leave, name="leave"),
    path("devices", views_door.devices, name="devices"),
    path("settings", views_habits.habits, name="habits"),
    path("devices/guests", views_guests.guests, name="guests"),
    path("logs/new", views_notebook.begin, name="begin"),
    path("logs/<uuid:log_id>", views_notebook.notebook, name="notebook"),
    path("", include("pacewright.desk.urls_reading")),
    path("logs/<uuid:log_id>/changes", views_notebook.changes, name="changes"),
    path("logs/<uuid:log_id>/since", views_notebook.since, name="since"),
    path("logs/<uuid:log_id>/history", views_history.history, name="history"),
    path("logs/<uuid:log_id>/history/restore", views_history.restore, name="restore_state"),
    path("logs/<uuid:log_id>/page", views_notebook.save_page, name="save_page"),
    path("logs/<uuid:log_id>/answer", views_notebook.answer, name="answer"),
    path("", include("pacewright.desk.urls_class")),
    path("", include("pacewright.desk.urls_books")),
    path("", include("pacewright.desk.ask.urls")),
]
