"""What is asked about before a card is handed in: no finish, a word that is on no post, a post of no card."""

from __future__ import annotations

from pacewright.desk.classes.courses import course_of
from pacewright.desk.models import Entry


def asked_first(entry: Entry) -> list[str]:
    """What a hand-in should be asked about; nothing where nothing is odd, and nothing on a pace line.

    Parameters
    ----------
    entry
        With its finish as it was last kept.
    """
    course = course_of(entry.exercise.course)
    if course.kind == "pace":
        return []
    found = []
    if not entry.ends_at and not (entry.along_m and entry.off_m) and not entry.words:
        found.append("Nothing says where the walk ended.")
    known = {" ".join(post.word.split()).casefold() for post in course.posts if post.word}
    found += [
        f"{word} is the word of no post of this course."
        for word in entry.words.values()
        if " ".join(str(word).split()).casefold() not in known
    ]
    card = course.card(entry.card)
    own = {card.start, card.ends, *(leg.ends for leg in card.legs)}
    if course.kind == "posts" and entry.ends_at and entry.ends_at not in own:
        found.append(f"{entry.ends_at} is no post of card {card.number}.")
    return found
