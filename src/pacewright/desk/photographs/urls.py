"""Addresses of photographed pages."""

from __future__ import annotations

from django.urls import path

from pacewright.desk.photographs import views

urlpatterns = [
    path("photographs", views.photographs, name="photographs"),
    path("photographs/<uuid:batch>", views.read_photographs, name="read_photographs"),
    path("photographs/<uuid:batch>/rows", views.confirm_photographs, name="confirm_photographs"),
    path("photographs/<uuid:photo_id>/picture/<str:kind>", views.photo_picture, name="photo_picture"),
    path("photographs/<uuid:photo_id>/frame", views.frame_photograph, name="frame_photograph"),
    path("photographs/<uuid:photo_id>/row/<int:number>", views.photo_row, name="photo_row"),
]
