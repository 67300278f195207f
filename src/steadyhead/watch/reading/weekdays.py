"""Days of the week ahead of a date or behind it, in many languages: the date says as much."""

from __future__ import annotations

import re
from functools import lru_cache

from steadyhead.watch.reading.months import key_of

_NAMES: str = (
    "monday tuesday tues wednesday thursday thurs friday saturday sunday montag dienstag mittwoch donnerstag "
    "freitag samstag sonnabend sonntag lundi mardi mercredi jeudi vendredi samedi dimanche lunes martes "
    "miercoles jueves viernes sabado domingo lunedi martedi mercoledi giovedi venerdi sabato "
    "domenica maandag "
    "dinsdag woensdag donderdag vrijdag zaterdag zondag segunda terca quarta quinta sexta mandag tirsdag "
    "onsdag torsdag fredag loerdag lordag soendag sondag tisdag poniedzialek pon wtorek wt sroda "
    "czwartek czw "
    "piatek sobota niedziela ndz pondeli po utery ut streda st ctvrtek ct patek pa so ne nedele "
    "stvrtok piatok "
    "ponedeljek torek sreda cetrtek petek nedelja ponedjeljak utorak srijeda cetvrtak petak subota nedjelja "
    "hetfo kedd szerda csutortok pentek szombat vasarnap luni marti miercuri joi vineri sambata duminica "
    "pazartesi pzt sali carsamba persembe cuma cumartesi cmt pazar senin selasa rabu kamis jumat "
    "jum'at sabtu "
    "minggu isnin khamis jumaat ahad jumatatu jumanne jumatano alhamisi ijumaa jumamosi jumapili "
    "esmaspaev teisipaev kolmapaev neljapaev reede laupaev puhapaev maanantai tiistai keskiviikko torstai "
    "perjantai lauantai sunnuntai "
    "понедельник пн вторник вт среда ср четверг чт пятница пт суббота сб воскресенье вс понеділок вівторок "
    "середа четвер п'ятниця субота неділя нд понеделник сряда четвъртък петък събота неделя понедељак уторак "
    "четвртак петак недеља δευτερα τριτη τεταρτη πεμπτη παρασκευη σαββατο κυριακη "
    "الاثنين الثلاثاء الأربعاء الخميس الجمعة السبت الأحد"
)  # fmt: skip
_WORD = re.compile(r"[\s,]*\(?([^\W\d_][^\W\d_']{1,10})\.?\)?[\s,]+(?=\d)")
_MARK = re.compile(
    r"(?<=\d)\s*(?:[(（][月火水木金土日一二三四五六월화수목금토일](?:曜日?|요일)?[)）]|(?:星期|周|週|禮拜)[一二三四五六日天]"
    r"|[월화수목금토일]요일|[月火水木金土日]曜日?)\s*"
)


@lru_cache(maxsize=4096)
def is_weekday(word: str) -> bool:
    """Return whether a word is a day of the week, whole or by its first letters.

    Examples
    --------
    >>> [is_weekday(one) for one in ("Thu", "Jumat", "чт", "Czw.", "Printed", "x")]
    [True, True, True, True, False, False]
    """
    short = key_of(word).strip(" .,()").replace("ł", "l")
    return len(short) >= 2 and any(one.startswith(short) for one in _KEYS)


def without_day(rest: str) -> str:
    """Return what follows a date without a day of the week that stands first in it."""
    found = _WORD.match(rest)
    return " " + rest[found.end() :] if found is not None and is_weekday(found.group(1)) else rest


def without_marks(text: str) -> str:
    """Return a stamp without a day of the week in signs of the Far East.

    Examples
    --------
    >>> without_marks("2027/03/04(木) 10:00"), without_marks("2027-03-04 星期四 10:00")
    ('2027/03/04 10:00', '2027-03-04 10:00')
    """
    return _MARK.sub(" ", text).strip()


_KEYS = tuple(key_of(one) for one in _NAMES.split())
