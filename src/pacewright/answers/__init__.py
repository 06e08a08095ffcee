"""One function a question: a log and what is asked of it in, one frozen answer out, its doubts with it."""
