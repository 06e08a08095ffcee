"""Addresses of books, files and sheets."""

from __future__ import annotations

from django.urls import path

from pacewright.desk.books import views_books, views_files, views_pocket, views_several, views_sheets

urlpatterns = [
    path("walkers/<uuid:walker_id>/sheets/<str:kind>", views_sheets.walker_pdf, name="walker_pdf"),
    path("books", views_books.books, name="books"),
    path("books/bin", views_books.throw_bin, name="bin"),
    path("books/import", views_books.import_logs, name="import_logs"),
    path("books/files", views_several.several_files, name="several_files"),
    path("books/sheets", views_several.several_sheets, name="several_sheets"),
    path("books/several", views_several.several, name="several"),
    path("logs/<uuid:log_id>/rename", views_several.rename, name="rename"),
    path("from-phone", views_pocket.from_phone, name="from_phone"),
    path("logs/<uuid:log_id>/pocket", views_pocket.pocket_page, name="pocket_page"),
    path("logs/<uuid:log_id>/pocket/phone", views_pocket.pocket_phone, name="pocket_phone"),
    path("books/paste", views_books.paste_log, name="paste_log"),
    path("books/backup", views_files.backup, name="backup"),
    path("books/backup/copies", views_files.copies_change, name="copies_change"),
    path("books/backup/file", views_files.backup_file, name="backup_file"),
    path("books/backup/restore", views_files.restore_file, name="restore_file"),
    path("logs/<uuid:log_id>/copy", views_books.copy_log, name="copy_log"),
    path("logs/<uuid:log_id>/throw", views_books.throw_log, name="throw_log"),
    path("logs/<uuid:log_id>/files/<str:kind>", views_files.log_download, name="log_file"),
    path("logs/<uuid:log_id>/sheets", views_sheets.log_sheets, name="log_sheets"),
    path("logs/<uuid:log_id>/sheets/<str:kind>", views_sheets.log_pdf, name="log_pdf"),
    path("sheets", views_sheets.sheets, name="sheets"),
    path("sheets/<str:kind>", views_sheets.blank_pdf, name="blank_pdf"),
]
