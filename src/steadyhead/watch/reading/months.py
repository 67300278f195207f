"""Names of months, whole and short, as spreadsheets and loggers of many countries write them."""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from steadyhead.watch.reading.headings import plain

_NAMES = (
    "jan ene gen januar janvier enero gennaio januari january jaen janv janeiro ianuarie ian styczen "
    "stycznia "
    "sty leden ledna led ocak oca sausis saus jaan tammi tammikuu tammikuuta sij sijecanj sijecnja "
    "янв январь января січ січня ян януари јан јануар ιαν ιανουαριος ιανουαριου يناير كانون",
    "feb fev februar fevr fevrier febrero febbraio februari february fevereiro februarie luty lutego lut "
    "unor "
    "unora uno subat sub vasaris vas veebr helmi helmikuu helmikuuta velj veljaca veljace febr februaar "
    "фев февр февраль февраля лют лютого феб фебруар февруари φεβ φεβρουαριος φεβρουαριου فبراير",
    "mar mrz maerz mars marzo maart mrt march maer marco martie marzec marca brezen brezna bre mart "
    "maret mac "
    "kovas kov marts maalis maaliskuu maaliskuuta marcius marc ozu ozujak ozujka machi "
    "мар март марта бер березня μαρ μαρτιος μαρτιου مارس",
    "apr avr abr april avril abril aprile aprilie kwiecien kwietnia kwi duben dubna dub nisan nis "
    "balandis bal "
    "huhti huhtikuu huhtikuuta aprilis tra travanj travnja prill pri aprili "
    "апр апрель апреля квіт квітня април απρ απριλιος απριλιου أبريل ابريل",
    "may mai mei mag mayo maggio maio maj maja kveten kvetna kve mayis geguze geg maijs touko toukokuu "
    "toukokuuta majus svi svibanj svibnja май мая трав травня мај μαι μαιος μαιου مايو",
    "jun juni kesaekuuta juin junio giu giugno june junho iunie iun czerwiec czerwca cze cerven cervna "
    "cvn haziran haz "
    "birzelis birz juuni kesa kesakuu kesakuuta junius jun lipanj lipnja qershor qer "
    "июн июнь июня черв червня юни јун ιουν ιουνιος ιουνιου يونيو",
    "jul juli heinaekuuta juil juillet julio lug luglio july julho iulie iul lipiec lipca cervenec "
    "cervence cvc "
    "temmuz tem "
    "liepa liep juuli heina heinakuu heinakuuta julius srpanj srpnja korrik julai "
    "июл июль июля лип липня юли јул ιουλ ιουλιος ιουλιου يوليو",
    "aug augusti august aout ago agosto augustus aou sierpien sierpnia sie agustos agu agustus agt "
    "ags ogos ogo "
    "rugpjutis rugp elo elokuu elokuuta augusztus kolovoz kolovoza kol gusht avg avgust agosti srpen srpna "
    "авг август августа серп серпня αυγ αυγουστος αυγουστου أغسطس اغسطس",
    "sep sept september septembre septiembre set settembre setembro septembrie wrzesien wrzesnia wrz "
    "zari zar "
    "eylul eyl rugsejis rugs syys syyskuu syyskuuta szeptember szept rujan rujna ruj shtator sht septemba "
    "сен сент сентябрь сентября вер вересня сеп септ септември септембар σεπ σεπτ σεπτεμβριος σεπτεμβριου "
    "سبتمبر",
    "oct okt october oktober octobre octubre ott ottobre outubro out octombrie pazdziernik pazdziernika paz "
    "rijen rijna rij ekim eki spalis spal loka lokakuu lokakuuta oktobar tetor tet oktoba oktobris "
    "окт октябрь октября жовт жовтня октомври οκτ οκτωβριος οκτωβριου أكتوبر اكتوبر",
    "nov november novembre noviembre novembro noiembrie noi noiem listopada kasim kas nopember nop lapkritis "
    "lapkr marras marraskuu marraskuuta studeni studenog nentor nen novemba novembar "
    "ноя нояб ноябрь ноября лист листопада ное ноем ноември нов νοε νοεμβριος νοεμβριου نوفمبر",
    "dec dez dic december dezember decembre diciembre dicembre dezembro decembrie grudzien grudnia gru "
    "prosinec "
    "prosince aralik ara desember des disember dis gruodis gruod joulu joulukuu joulukuuta prosinac "
    "dhjetor dhj desemba decembar "
    "дек декабрь декабря груд грудня декември дец децембар δεκ δεκεμβριος δεκεμβριου ديسمبر",
)  # fmt: skip
"""Of each month, words parted by blanks. What names another month in a language beside (*listopad*, *lip*,
*srp*, *lis*) is in none: such a stamp is refused, not guessed."""


def key_of(word: str) -> str:
    """Return a word in small letters of any script, without accents."""
    flat = unicodedata.normalize("NFKD", word.casefold())
    return "".join(one for one in flat if not unicodedata.combining(one))


MONTHS = {key_of(name): number for number, names in enumerate(_NAMES, 1) for name in names.split()}


@lru_cache(maxsize=4096)
def month_of(word: str) -> int | None:
    """Return the month that a word names; None: none that is known.

    Examples
    --------
    >>> month_of("Ağu"), month_of("października"), month_of("мая"), month_of("out"), month_of("lip")
    (8, 10, 5, 10, None)
    """
    return MONTHS.get(plain(word).replace(" ", "")) or MONTHS.get(key_of(word))
