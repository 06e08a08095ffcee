// The page as the desk told it last, put together from what travels: only what changed.
"use strict";
desk.makeTold = () => {
  let mark = "", rows = [], answerMark = "", answer = null;
  return {
    // What this page has, as the desk is told of it.
    seen: () => ({ seen: mark, seen_answer: answerMark }),
    // Gives what was told with all its rows; nothing where it rests on another page than this one.
    whole(found) {
      if (!found.rows && found.of !== mark) {
        mark = "";
        return null;
      }
      if (!found.rows) {
        const known = new Map([...rows, ...found.changed].map((row) => [row.id, row]));
        found.rows = (found.order || rows.map((row) => row.id)).map((id) => known.get(id));
      }
      ({ mark, rows } = found);
      if (found.answer === false) found.answer = answer;
      else if (found.answer !== null) [answer, answerMark] = [found.answer, found.answer_mark];
      return found;
    },
  };
};
