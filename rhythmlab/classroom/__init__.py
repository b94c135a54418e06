"""Questions with numbers for every seat, and marking that runs nothing.

Hand out
  rl.classroom.question_bank()        all questions, with skill and level
  rl.classroom.assignment("gap-cycles", seat=7)  an assignment at a seat
  rl.classroom.write_assignment("gap-cycles", "handed-out", seats=range(1, 31))  a page a seat
  rl.classroom.answer_key("gap-cycles", seats=2)  worked answers, for the teacher
  rl.classroom.handout_pack([((7, 4), 72)], "pack")  rhythms on paper
Mark
  rl.classroom.demo_class()           a folder of returned pages of an invented class
  rl.classroom.gradebook("returned")  a folder of returned pages as one table
  rl.classroom.taps_of(take)          the strokes of a take, as an answer has them
"""

from rhythmlab.rooms import opened as _opened

_opened(__name__)
