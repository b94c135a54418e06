"""Public names and where they live: read by editors and type checkers, and by the package itself."""

from .classroom.bank.catalogue import answer as answer, check as check, question as question
from .panels.pages_05_to_07 import (
    choose_way as choose_way,
    feet_against_hands as feet_against_hands,
    land_in_bars as land_in_bars,
    move_accent as move_accent,
    phrase_and_stick as phrase_and_stick,
)
from .panels.exercise import exercise as exercise
from .panels.guess import predict as predict
from .panels.my_hands import my_hands as my_hands
from .panels.pages_00_to_04 import (
    choose_home as choose_home,
    find_grid as find_grid,
    first_rhythms as first_rhythms,
    follow_gaps as follow_gaps,
    merge_pulses as merge_pulses,
    two_numbers as two_numbers,
)
from .panels.plan import workshop_plan as workshop_plan
from .panels.page_08 import practise as practise
from .panels.set_list import set_list as set_list
from .panels.wall import wall as wall
from .panels.page_09 import dictation as dictation, write_down as write_down
