"""A class: courses, exercises, cards taken and handed in, marks, groups and learners."""
