"""What a clause says was done to a thing of the station: read by the shape of its words, not by phrases.

A clause that names a thing of the station asks unless it is plain. Every word in the past tense is a deed,
unless it is one of the few by which people look, speak and write, or by which a thing acts of itself, or
unless what stands next to it is no thing of the station. English only.
"""

from __future__ import annotations

import re
from typing import Final, Literal

from steadyhead.visits.audit.notes import Clause, denied
from steadyhead.visits.audit.phrases import any_of
from steadyhead.visits.audit.reliefs import RELIEF, ReliefDeed, acts_itself

Deed = Literal["hand", "move", "left", "forced"] | ReliefDeed
"""A hand on a thing; a thing moved as it is meant to be moved; how it was left; kept from acting."""

_LOOKED: Final = (
    "looked|watched|checked|inspected|compared|counted|noted|listed|photographed|measured|logged|timed|"
    "recorded|asked|called|phoned|telephoned|informed|notified|reported|mentioned|answered|agreed|"
    "confirmed|explained|promised|heard|listened|waited|arrived|returned|stayed|named|labelled|tagged|"
    "identified|ticked|signed|showed|read|saw|seen|felt|said|told|wrote|written|knew|thought|met|sat|"
    "stood|spoke|rang|gone|went|came|come|been|was|were|had|did|done|got|gotten|made|became|began|begun|"
    "found|kept|held|lost|meant|understood|wanted|needed|expected|planned|stated|rated|calibrated|copied|"
    "numbered|dated|printed|discussed|visited|witnessed|attended|used|uploaded|saved|sketched|"
    "traced|tested|tried|proved|proven|verified|repeated|continued|finished|started|stopped|passed|failed|"
    "ended|released|required|allowed|related|based|received|sent|paid|bought|wiped|dried|mopped|swept|"
    "tallied|reconciled|liked|walked|talked|tidied|followed|covered|weighed|smelled|wondered|queried|requested|suggested|"
    "recommended|offered|refused|declined|warned|recalled|remembered|red|bed|shed"
)
_ITSELF: Final = (
    "rusted|painted|worn|scratched|faded|stained|corroded|flaked|damaged|pitted|fouled|clogged|dented|"
    "chipped|mounted|installed|located|sealed|marked|dripped|leaked|wept|hummed|hunted|chattered|whistled|"
    "squeaked|rattled|vibrated|settled|steadied|levelled|rose|risen|fell|fallen|climbed|crept|sank|sunk|"
    "swung|decayed|dropped|sounded|acted|reacted|responded|acknowledged|cleared|appeared|displayed|"
    "trickled|flowed|ran|jumped|remained|cooled|warmed|froze|frozen|matched|agreed|differed|"
    "tripped|lay|lain|led|hung|drove|driven"
)
QUIET: Final = re.compile(rf"{_LOOKED}|{_ITSELF}", re.IGNORECASE)
"""Words in the past tense by which nothing is done to a thing."""
_IRREGULAR: Final = (
    "ran|drove|hung|sank|swung|"
    "put|set|cut|shut|hit|bent|broke|broken|brought|blew|blown|built|bust|burst|dealt|drew|drawn|dug|gave|"
    "given|ground|hid|hidden|hauled|knelt|knit|freed|lent|lifted|lit|moved|pulled|pushed|rid|rode|rub|"
    "rubbed|screwed|shook|shaken|slid|spun|split|spread|sprung|squeezed|stuck|struck|stripped|swapped|"
    "taken|took|tore|torn|threw|thrown|torqued|undid|undone|wound|woken|unscrewed|re-set|reset|re-gapped|"
    "refit|fit|cast"
)
_PAST: Final = re.compile(rf"\b(?:[\w-]*\w(?<!e)ed|{_IRREGULAR})\b", re.IGNORECASE)
_STATE: Final = (
    r"(?:wide |fully |half |partly |nearly |a (?:bit|little|crack|touch) )?"
    r"(?:shut|closed|open(?:ed)?|cracked|throttled|isolated|tripped|bridged|defeated|muted|silenced|loose|"
    r"slack|disconnected|unplugged|blocked|wedged|tied|pinned|propped|"
    r"jammed|bypassed|bypass|running|dripping|weeping|off|out|on test|in test|raised|lowered|removed|"
    r"dry|empty|full|unscrewed|undone|clamped|pinched)"
)
_LEFT: Final = any_of(
    rf"(?:left|still|stays?|stayed|keeps?|remains?|remained|now) (?:\w+ ){{0,3}}?{_STATE}",
    r"only (?:half|part(?:ly| way)?|cracked)(?! (?:a|an|of)\b)",
    r"only (?:opened|open|shut|closed) (?:to |by |up )?(?:\d[\d.,]*|one|two|three|four|five|six|eight|ten) "
    r"turns?",
    r"(?:kept|held|hung|stands?|stood|propped|tied|pulled) (?:\w+ ){0,3}?"
    r"(?:shut|closed|open|back|up|down|out|off)",
    r"not (?:quite|fully|properly|right|all the way|completely) (?:shut|closed|open|home|down|up|back)",
    r"short of (?:open|shut|closed|home)",
    r"(?:is|are|stands?) now (?:at|on|set)",
    r"(?:is|are) (?:still |now |again |wide |fully |half )*(?:shut|closed|open|cracked|throttled|isolated|"
    r"tripped|bridged|defeated|muted|silenced|loose|slack|disconnected|unplugged|blocked|wedged|tied|pinned|"
    r"propped|jammed|bypassed|running|off|out|removed|undone)",
    r"not (?:yet )?(?:\w+ )?(?:opened|open|put back|back|restored|reconnected|refitted|live|reset|removed|"
    r"shut|closed)(?: again| yet)?",
    r"forgot(?:ten)? to (?:\w+)",
    r"(?:closed|shut|opened), forgot",
    r"(?:open|shut|closed|on|off|in|out) (?:\w+ ){0,2}?when (?:we|I|they|he|she) (?:left|went|drove)",
)
_STILL: Final = any_of(
    r"still (?:in(?! (?:line|place|position|order|date)\b)|on(?! (?:its|the|their) marks?\b)|up|down|out|off|"
    r"inside|under|behind|there)",
    r"left (?:\w+ ){0,3}?(?:in|inside|on|up|down|under|behind|through|across|round)",
)
_FORCED: Final = any_of(
    r"wedged", r"(?:a|the) wedge", r"wedge", r"blocked (?:it |the |that )?(?:\w+ )?(?:open|up|shut)",
    r"tied", r"propped", r"pinned", r"pin (?:put|left|still)", r"clamped", r"clamp",
    r"jammed (?:it |the )?(?:\w+ )?(?:open|up|shut)", r"held (?:\w+ ){0,2}?open", r"unplugged", r"disabled",
    r"defeated", r"out of service", r"lashed", r"strapped", r"chained",
)  # fmt: skip
_LITTLE: Final = (
    r"(?:a |an |one |half |half a |two |three )?(?:bit|little|touch|shade|hair|whisker|notch|fraction|tad|"
    r"eighth|quarter|half|third|turns?|flats?|degrees?|click|clicks|notches|\d\S*|[½¼¾⅛⅜])"
)
_AMOUNT: Final = any_of(
    rf"{_LITTLE}(?: of a)?(?: turns?| flats?)? (?:more|less|higher|lower|up|down|in|out|tighter|looser|"
    r"softer|harder|clockwise|anti\w*|further|back|open|shut)(?! than| of spec)",
    r"(?:bit|little|touch|shade|hair|turns?|some) (?:more|less) (?:on|for|of)",
    r"(?:flat|turn|quarter|eighth|nip|tweak|pull|heave|squeeze|twist|knock|tap|hammer|shim|wedge|"
    r"clamp|wire|magnet|jumper|jump lead) "
    r"(?:on|to|in|under|across|round|behind) (?:the |our |that )?(?!card|gauge|page|list)",
    r"back (?:where|to (?:how|what|where)|as) ",
    r"had to (?!wait|read|ask|call|look|go|stop|come|leave|be|do|have|say|write)\w+",
    r"did (?:it|them|that|the \w+) up",
    r"(?:through|via|past|around|round) (?:the )?(?:by-?pass|IV ?\d|(?-i:BY)|low[- ]flow|standby)",
    r"(?:back|up|down|in|out) (?:to where|a (?:bit|little|touch|turn|quarter|half)|by (?:a|an|half|one|\d))",
    r"(?:off|out|in) and (?:on|back|in|out)(?: again)?",
    r"(?:a )?new (?:diaphragm|spring|filter|seat|needle|pilot|nut|seal|gasket|disc|cam|switch|screw|valve)",
    r"been (?:at|on|in|into|inside) (?:the |our )?",
    r"(?:was|were|came|come|worked) (?:loose|slack|undone)",
    r"(?:back|off) (?:on|in) again",
    r"(?:lid|cover|cap|plug|basket|bonnet|nut|tube|line|wire|union|handle|handwheel)s?"
    r"(?: of (?:the )?[\w-]+)? (?:came|come|comes|fell) (?:off|loose|undone|apart|adrift)",
)
_FOUND: Final = re.compile(r"\b(?:found|seen|already)(?: (?!and\b)[\w-]+){0,2} $", re.IGNORECASE)
"""What was found so was done by others, before."""
_WORKS: Final = any_of(r"dropped", r"cleared", r"ran", r"tripped", r"swung", r"drove", r"hung", r"sank")
_WE: Final = re.compile(r"\s*(?:(?:we|I|he|she|they|and|then|also|just) )*", re.IGNORECASE)
_FEELS: Final = re.compile(r" (?:easily|freely|smoothly|well|hard|stiffly|true)\b", re.IGNORECASE)
_SHOWS: Final = re.compile(r"\b(?:rod|indicator|stem|pointer|needle of the|disc) $", re.IGNORECASE)
"""What shows where a valve stands; it moves because the valve does."""
_BY_ITSELF: Final = re.compile(r"\b(?:while|as|when|once|until|till|before|after) (?:it|SO) $", re.IGNORECASE)
_ACTS: Final = re.compile(r"shut|closed|opened|reopened|moved", re.IGNORECASE)
"""How a valve moves of itself: *while it shut*, with nothing behind that it moved."""
_NOTHING_BEHIND: Final = re.compile(
    r"\W*$|\W+(?:slowly|fast|quickly|by itself|again|and|at)\b", re.IGNORECASE
)
MOVES: Final = any_of(
    r"opened", r"closed", r"shut", r"cracked", r"isolated", r"throttled", r"re-?set", r"vented", r"drained",
    r"flushed", r"filled", r"locked", r"unlocked", r"stroked",
)  # fmt: skip
"""How a thing is worked as it is meant to be; any other word is a hand on it."""
OUTSIDE: Final = any_of(
    r"torch\w*", r"lights?", r"lamps?", r"phones?", r"vans?", r"car", r"cars", r"lorry", r"pages?",
    r"paper", r"sheets?", r"notebook", r"note ?pad", r"book", r"batter(?:y|ies)", r"hatch(?:es)?",
    r"lids? of the (?!strainer|filter|pilot|valve)\w+", r"manhole\w*", r"doors?", r"kiosk", r"ladders?",
    r"watch(?:es)?",
    r"alarm (?:clock|desk)", r"(?:drain|valve|gate|iv\d|stem) keys?", r"(?:at|by|near|to|from) the gate",
    r"clocks?", r"hoses?", r"pump", r"sump pump", r"tripod", r"barriers?", r"cones?", r"signs?", r"keys?",
    r"gloves?", r"boots?", r"screen", r"tablet", r"laptop", r"photos?", r"pictures?", r"readings?",
    r"water", r"rain", r"meters? reading", r"desk", r"call", r"name", r"permits?", r"cover key", r"chamber",
    r"chamber (?:lid|cover|door)", r"pit", r"gates? of the \w+", r"yard", r"field", r"fence", r"road",
    r"customers?", r"people", r"operators?", r"shift", r"tags?", r"labels?", r"marks?", r"paint", r"tools?",
    r"spanner", r"bag", r"box", r"radio", r"camera", r"stopwatch", r"seals? (?:\w+ )?\d+",
    r"seals?(?= (?:\w+ )?\d+)", r"seal on", r"seals?(?= (?:fitted|put on|whole|intact|on)\b)",
    r"(?:ear|eye|fall|hand) protection", r"fire \w+", r"sump", r"thermometer", r"notice", r"trousers",
    r"hat", r"helmets?", r"window", r"heater", r"fan", r"generator",
)  # fmt: skip
"""Things beside the station: weather, people, keys, torches, paper; a word next to one is about it."""
_OF_IT: Final = re.compile(
    r"\b(?:photos?|pictures?|readings?|list|label|tag|drawing|note|number|height|look|key|sketch|(?:name)?plate|"
    r"make|age|type)(?:e?s)? (?:was |were )?(?:of|for) "
    r"(?:the |our |its )?(?:[\w.-]+(?: |$)){1,3}", re.IGNORECASE,
)  # fmt: skip
"""A thing only spoken of: *photo of the screw*."""
_COPIED: Final = any_of(
    r"(?:numbers?|makes?|types?|names?|figures?|values?|sizes?|years?) (?:was |were )?(?:taken|copied|got) "
    r"(?:off|from|out of)",
    r"(?:name)?plates? (?:\w+ ){0,5}?(?:painted|rusted|worn)",
    r"(?:as|than) (?:(?:it|they) )?(?:(?:is|are|was|were) )?(?:built|drawn|put|cut)",
)
"""Words in the past tense about what is written on a thing, or was."""
_ASKED: Final = any_of(
    r"(?:asks?|asked|wondered|wanted to know|queried) (?:\w+ ){0,2}?"
    r"(?:when|why|how|what|who|where|which|about|for)"
)
FOR_A_WHILE: Final = any_of(
    r"for (?:an? |one |two |three |four |five |ten |some |half an? |\d+ ?)?"
    r"(?:while|moments?|seconds?|s|minutes?|mins?|hours?|bit)",
    r"briefly", r"a (?:moment|minute|while)",
)  # fmt: skip
"""Words by which a thing stood so for a time only, and not since."""
_OWN_SCREW: Final = any_of(
    r"screwed (?:it|them|that)? ?(?:in|out|up|down|back)", r"(?:wound|backed) (?:it|them) \w+"
)
"""Deeds that need no name: nothing but a screw is screwed."""


def deed(clause: Clause, things: re.Pattern[str], reliefs: re.Pattern[str] = RELIEF) -> Deed | None:
    """Return what a clause says was done to a thing of the station; None where it says nothing of the kind.

    Parameters
    ----------
    clause
        As read by `notes.clauses`: a plan, a rule, another day tells of nothing.
    things
        What the station's things are called.
    reliefs
        What its relief valves are called, which lift and seat of themselves.
    """
    text = clause.text
    if clause.told == "not done" or _ASKED.search(text):
        return None
    if _any_told(text, _OWN_SCREW):
        return "hand"
    named = _spans(text, things)
    leans = not named and _speaks_of(clause.before, things) and not OUTSIDE.search(text)
    if not named and not leans:
        return None
    if _any_told(text, _FORCED):
        return "forced"
    acts = (word for word in _PAST.finditer(text) if not _lifts(clause, word, things, reliefs))
    done = _done(text, list(acts), named)
    if _any_told(text, _LEFT, negated=True) or _any_told(text, _STILL):
        return "left"
    return done


def _lifts(clause: Clause, word: re.Match[str], things: re.Pattern[str], reliefs: re.Pattern[str]) -> bool:
    """Return whether a relief valve, the last thing named ahead of a word, does so of itself."""
    ahead = clause.text[: word.start()]
    last = [spot.span() for spot in things.finditer(ahead)][-1:]
    if last:
        return bool(reliefs.search(ahead, *last[0])) and acts_itself(clause.text, word, reliefs)
    last = [spot.span() for spot in things.finditer(clause.before)][-1:]
    leans = bool(last) and bool(reliefs.search(clause.before, *last[0]))
    return leans and acts_itself(clause.text, word, reliefs, clause.before)


def _done(text: str, told: list[re.Match[str]], named: list[tuple[int, int]]) -> Deed | None:
    words = [spot for spot in told if _is_deed(text, spot, named)]
    if any(not MOVES.fullmatch(spot.group()) for spot in words) or _any_told(text, _AMOUNT):
        return "hand"
    return "move" if words else None


def _is_deed(text: str, word: re.Match[str], named: list[tuple[int, int]]) -> bool:
    """Return whether a word in the past tense says that something was done to a thing of the station."""
    ahead = text[: word.start()]
    read = (spot.span() for spot in _COPIED.finditer(text))
    if any(start <= word.start() and word.end() <= end for start, end in (*named, *read)):
        return False
    if QUIET.fullmatch(word.group()) and not _worked(text, word):
        return False
    shown = word.group().casefold() == "moved" and _SHOWS.search(ahead)
    itself = _BY_ITSELF.search(ahead) and _ACTS.fullmatch(word.group())
    if itself and _NOTHING_BEHIND.match(text, word.end()):
        return False
    if shown or _FEELS.match(text, word.end()) or _FOUND.search(ahead) or denied(text, *word.span()):
        return False
    return not _is_about_outside(text, word.span(), named)


def _worked(text: str, word: re.Match[str]) -> bool:
    """Return whether what a thing may do of itself is done to it: *dropped the trip*, with no subject."""
    return bool(_WORKS.fullmatch(word.group()) and _WE.fullmatch(text[: word.start()]))


def _spans(text: str, things: re.Pattern[str]) -> list[tuple[int, int]]:
    """Return where a text names things of the station."""
    return [spot.span() for spot in things.finditer(text) if not _is_outside(text, spot.span())]


def _speaks_of(text: str, things: re.Pattern[str]) -> bool:
    """Return whether the last thing a text names is one of the station."""
    own, other = _spans(text, things), [spot.end() for spot in OUTSIDE.finditer(text)]
    return bool(own) and own[-1][1] > max(other, default=0)


def _any_told(text: str, pattern: re.Pattern[str], *, negated: bool = False) -> bool:
    """Return whether a clause holds a phrase that no negation reaches; negated: it may carry its own."""
    return any(negated or not denied(text, *spot.span()) for spot in pattern.finditer(text))


def _is_outside(text: str, span: tuple[int, int]) -> bool:
    """Return whether a thing is part of the name of one beside the station: *alarm clock*."""
    inside = any(s.start() <= span[0] and span[1] <= s.end() for s in OUTSIDE.finditer(text))
    return inside or any(s.start() <= span[0] and span[1] <= s.end() for s in _OF_IT.finditer(text))


def _is_about_outside(text: str, word: tuple[int, int], named: list[tuple[int, int]]) -> bool:
    """Return whether what stands nearest to a word is no thing of the station; what follows it goes first."""

    def far(span: tuple[int, int]) -> int:
        ahead = span[1] <= word[0]
        between = text[span[1] : word[0]] if ahead else text[word[1] : span[0]]
        return len(between.split())

    beside = [spot.span() for spot in OUTSIDE.finditer(text)]
    return bool(beside) and (not named or min(map(far, beside)) < min(map(far, named)))
