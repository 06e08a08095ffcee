"""The addresses of the class."""

from __future__ import annotations

from django.urls import path

from pacewright.desk.classes import (
    views_class,
    views_course,
    views_drills,
    views_exercise,
    views_group,
    views_learner,
    views_marks,
    views_photographs,
    views_posts,
)

_EXERCISE = "class/exercises/<uuid:exercise_id>"
_COURSE = "class/courses/<uuid:course_id>"
_SETTING = "class/courses/setting/<uuid:job_id>"
_GROUP = "class/groups/<uuid:group_id>"
_LEARNER = "class/learners/<uuid:member_id>"
_ENTRY = "entries/<uuid:entry_id>"

urlpatterns = [
    path("class", views_class.class_home, name="class"),
    path("class/courses/import", views_course.course_import, name="course_import"),
    path("class/courses/new/posts", views_posts.course_posts, name="course_posts"),
    path(_SETTING, views_posts.course_setting, name="course_setting"),
    path(f"{_SETTING}/stop", views_posts.course_setting_stop, name="course_setting_stop"),
    path("class/courses/new/<str:kind>", views_course.course_new, name="course_new"),
    path(_COURSE, views_course.course, name="course"),
    path(f"{_COURSE}/change", views_course.course_change, name="course_change"),
    path(f"{_COURSE}/file", views_course.course_file, name="course_file"),
    path(f"{_COURSE}/sheet", views_course.course_sheet, name="course_sheet"),
    path(_EXERCISE, views_exercise.exercise, name="exercise"),
    path(f"{_EXERCISE}/live", views_exercise.exercise_live, name="exercise_live"),
    path(f"{_EXERCISE}/add", views_exercise.exercise_add, name="exercise_add"),
    path(f"{_EXERCISE}/change", views_exercise.exercise_change, name="exercise_change"),
    path(f"{_EXERCISE}/delete", views_exercise.exercise_delete, name="exercise_delete"),
    path(f"{_EXERCISE}/photographs", views_photographs.class_photographs, name="class_photographs"),
    path(f"{_EXERCISE}/photographs/<uuid:batch>", views_photographs.class_pages, name="class_pages"),
    path(f"{_EXERCISE}/marks", views_marks.marks, name="marks"),
    path(f"{_EXERCISE}/marks/<str:kind>/sheet", views_marks.marks_sheet, name="marks_sheet"),
    path(f"{_EXERCISE}/board", views_class.board, name="board"),
    path("drills", views_drills.drills, name="drills"),
    path("drills/sheet", views_drills.drill_sheet, name="drill_sheet"),
    path("class/groups/new", views_group.group_new, name="group_new"),
    path(_GROUP, views_group.group, name="group"),
    path(f"{_GROUP}/change", views_group.group_change, name="group_change"),
    path(f"{_GROUP}/progress", views_marks.group_progress, name="group_progress"),
    path(f"{_GROUP}/export", views_group.group_export, name="group_export"),
    path(_LEARNER, views_group.learner, name="learner"),
    path(f"{_LEARNER}/progress", views_marks.learner_progress, name="learner_progress"),
    path(f"{_LEARNER}/progress/sheet", views_marks.learner_progress_sheet, name="learner_progress_sheet"),
    path(f"{_LEARNER}/delete", views_group.learner_delete, name="learner_delete"),
    path(f"class/{_ENTRY}/change", views_exercise.entry_change, name="entry_change"),
    path(f"class/{_ENTRY}/next", views_exercise.entry_next, name="entry_next"),
    path("cards/<uuid:exercise_id>/take", views_learner.card_take, name="card_take"),
    path(f"{_ENTRY}/out", views_learner.entry_out, name="entry_out"),
    path(f"{_ENTRY}/pace", views_learner.entry_pace, name="entry_pace"),
    path(f"{_ENTRY}/debrief", views_marks.debrief, name="debrief"),
    path(f"{_ENTRY}/debrief/sheet", views_marks.debrief_sheet, name="debrief_sheet"),
    path(f"{_ENTRY}/draft", views_learner.entry_draft, name="entry_draft"),
    path(f"{_ENTRY}/finish", views_learner.entry_finish, name="entry_finish"),
]
