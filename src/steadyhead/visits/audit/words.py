"""Words of English site notes as far as an audit needs them: things, acts, what is not said as done."""

from __future__ import annotations

import re
from typing import Final

from steadyhead.visits.audit.phrases import any_of

QUESTION: Final = any_of(
    r"(?:asks?|asked|wonder\w*|question\w*|discuss\w*|argu\w*|unsure|doubt\w*|know\w*|"
    r"decid\w*)(?: \w+){0,4} whether",
    r"asks? if",
    r"asked if",
    r"wonder\w*",
    r"queried",
)
PLANNED: Final = any_of(
    "will",
    "shall",
    "should",
    "would",
    "(?<!as we )(?<!as I )(?<!as he )(?<!as they )(?<!as she )(?<!before anyone )(?<!before anybody )could",
    "can be",
    "must(?! have)",
    "ought",
    "to be (?:\\w+ed|done|made|taken|set|read|put|cut|shut|given|kept)",
    "going to",
    "next time",
    "next visit",
    "next year",
    "tomorrow",
    "later on",
    "planned",
    "plan to",
    "intend\\w*",
    "want(?:s|ed)? to",
    "tempt\\w*",
    "offer(?:s|ed)? to",
    "suggest\\w*",
    "propos\\w*",
    "recommend\\w*",
    "remind\\w*",
    "due for",
    "needs? to",
    "need not",
    "may be",
    "might",
    "(?<!see )(?<!look )(?<!check )(?<!feel )(?<!whether or )if",
    "in case",
    "unless",
    "before anyone (?!could|had)",
    "for the next",
    "ready to",
    "about to",
    "let us",
    "has to",
    "have to",
    "had to be kept",
    "(?<!on )(?<!at the )(?<!at )request\\w*",
    "pressed for",
    "asked for",
    "asked to",
    "wanted (?:it|us|them|the|iv\\d)",
    "called for",
    "demanded",
    "urged",
    "begged",
    "order(?:ed)? for",
    "on the list for",
    "thought of",
    "thought about",
    "considered",
    "decided against",
    "resist\\w*",
)
_NEGATORS: Final = (
    "no",
    "not(?! only)",
    "nor",
    "none",
    "never",
    "nothing(?! but)",
    "nobody",
    "no one",
    "neither",
    "without",
    "cannot",
    r"\w+n['’]t",
    "isnt",
    "didnt",
    "instead of",
    "rather than",
    "avoid\\w*",
    "refrain\\w*",
    "no need",
    "far from",
    "free of",
)
_STAYS: Final = (
    "untouched",
    "unmoved",
    "undisturbed",
    "unchanged",
    "unaltered",
    "unbroken",
    "intact",
    "left alone",
    "left as",
    "leave alone",
    "left well alone",
    "leaving alone",
    "let be",
    "refus\\w*",
    "declin\\w*",
    "forbid\\w*",
    "forbidden",
    "stays as",
    "stayed as",
    "as found",
    "still whole",
    "kept away from",
    "hands off",
)
NEGATOR: Final = any_of(*sorted(_NEGATORS, key=len, reverse=True))
"""A negation that reaches forward over some words."""
KEPT: Final = any_of(*_STAYS)
"""A state that denies every act told of in its clause."""
NEGATED: Final = any_of(*_NEGATORS, *_STAYS)
REPORTED: Final = any_of(
    "(?<!nobody )(?<!no one )(?<!desk )says",
    "(?:they|people|some|we are told they) say",
    "(?<!nobody )(?<!no one )(?<!not )(?<!desk )(?<!T1 )(?<!T2 )(?<!T3 )(?<!T4 )(?<!gauge )(?<!meter )"
    "(?<!label )(?<!plate )said",
    "claims?",
    "claimed",
    "told me",
    "tells me",
    "(?<!desk )heard",
    "apparently",
    "supposedly",
    "reportedly",
    "allegedly",
    "according to",
    "rumou?r",
    "remembers?",
    "thinks",
)
"""What somebody else is said to have seen: hearsay, as far as the sentence goes."""
SUPPOSED: Final = any_of(
    "maybe",
    "perhaps",
    "possibly",
    "probably",
    "presumably",
    "may have",
    "might have",
    "could have",
    "seems?",
    "seemed",
    "i think",
    "not sure",
    "unsure",
    "i believe",
)
"""A doubt of the writer; it concerns its own clause. What *must have been* is concluded, not doubted."""
RULE: Final = any_of(
    r"handbook",
    r"the rule",
    r"rules? (?:says?|wants?|asks?)",
    r"instructions?",
    r"procedure (?:says?|wants?|asks?)",
    r"manual",
    r"standards?",
    r"V\d{1,2}(?: says?| wants?| asks?|:| forbids?)",
    r"the plan (?:says?|wants?|asks?|has|warns?)",
    r"card (?:says?|wants?|asks?)",
    r"as (?:the )?\w+ (?:warns?|says)",
    r"toolbox talk",
    r"briefing",
    r"briefed",
    r"makes? \w+(?: \w+)? stale",
    r"is stale",
    r"goes? stale",
    r"lesson",
    r"read out",
    r"quot\w+",
    r"the form (?:says?|asks?)",
    r"step says",
    r"(?:alone |by itself )?proves? (?:no|nothing|not)",
    r"is no (?:proof|evidence|test)",
    r"(?:does|do|would) not (?:prove|count)",
)
_NAME: Final = r"(?-i:[A-Z][a-z][\w'’]+(?: [A-Z][a-z][\w'’]+){0,2})"
_FOLK: Final = r"(?:crew|gang|team|people|lot|lads|men|staff|shift|fitters?|station|chamber|site|job|plant)"
_FAR_OFF: Final = (
    r"(?:(?:\d+|a|one|two|three|four|five|some|a few|several) (?:\w+ )?(?:streets?|roads?|blocks?|doors?|"
    r"houses?|miles?|km|kilomet(?:re|er)s?|villages?|stations?|chambers?|valleys?) "
    r"(?:off|away|on|down|up|along|further)|"
    r"(?:down|up|along|across) the (?:road|street|lane|hill|valley)|round the corner|"
    r"in the next (?:street|road|village|town|district|zone|chamber|valley)|"
    r"(?:in|of|at) another (?:street|town|village|district|zone|place))"
)
ELSEWHERE: Final = (
    rf"(?:at|in) {_NAME},? (?:they|it|one|somebody|someone|the \w+|a \w+)",
    rf"(?:they|somebody|someone|{_FOLK}) at {_NAME}",
    rf"(?:the|a|our|that) {_NAME} {_FOLK}",
    rf"(?:valves?|gates?|hydrants?|pumps?|mains?|burst|work|works|digging|{_FOLK}) {_FAR_OFF}",
    r"(?<!put )(?<!turned )(?<!screwed )(?<!wound )in (?:spring|summer|autumn|winter)"
    r"(?! (?:a|an|half|one|quarter|to|in|out|and)\b| ?[\d¼½¾⅛])",
)
"""What was done at a place that is named or said to lie elsewhere; where an effect was heard is none."""
AWAY: Final = any_of(*ELSEWHERE)
THEIRS: Final = re.compile(r"^\W*(?:and |so |then )?(?:they|their|there)\b", re.IGNORECASE)
"""How a sentence goes on about the place the one before it named."""
EARLIER: Final = any_of(
    "once (?:broke|burst|cost|went|took)",
    "here once",
    "years back",
    "back in \\d{4}",
    "in (?:19|20)\\d\\d",
    "on the last job",
    "in the factory test",
    "at the factory",
    "last year",
    "last visit",
    "last time",
    "last month",
    "last (?:week|winter|summer|spring|autumn|season)",
    "previous visit",
    "(?:neighbour(?:ing)?|sister|next) (?:station|chamber|site)",
    "in (?:january|february|march|april|may|june|july|august|september|october|november|december)",
    "years? ago",
    "months? ago",
    "weeks? ago",
    "at the works",
    "works bench",
    "(?<!is )(?<!are )(?<!and )(?<!now )on the bench",
    "bench[- ]set",
    "workshop",
    "the other station(?!['’]s (?:number|plate|name|text|tag|words))",
    "another station",
    "at another",
    "previous job",
    "the day before we came",
    "before we came",
    "before our visit",
    *ELSEWHERE,
)

FIRST_TRY: Final = any_of(
    r"first (?:try|go|attempt|start) (?:was |were )?(?:\w+ )?(?:spoiled|spoilt|lost|ruined|"
    r"failed|in vain|no good|void|useless|broken off|stopped|abandoned)"
)
"""A try that the record itself gives up."""
SHUT_OFF: Final = any_of(
    r"(?:raised|lowered|set|eased|moved|brought|let down|took) the trip(?! (?:run|reading|value))",
    r"trip (?:set|nearer|higher|lower|up|down|point)",
    r"(?:the|our) trip (?:was |is |felt |looked |seemed )?(?:a (?:little|bit|shade|touch) |rather |too )*"
    r"(?:low|high|early|late)",
    r"shut-?\s?off\w*",
    r"(?-i:SO)",
    r"os(?:v)",
    r"protection (?:screw|pilot|spring|valve|setting)",
    r"(?:trimmed|tweaked|adjusted|turned|nudged|set|raised|lowered|eased) the protection",
    r"trip (?:screw|pilot|nut|setting|spring)",
    r"slam",
)
REDUCER: Final = any_of(
    r"reducers?", r"reducing valve", r"rv", r"pr(?:v)", r"main valve", r"duty (?:screw|pilot|nut|setting)"
)
LOW_FLOW: Final = any_of(r"lb", r"low[- ]flow (?:stream|valve|reducer|bypass)", r"night valve")
OUTLET_VALVE: Final = any_of(r"iv2", r"outlet (?:isolating )?(?:valve|gate|isolator)", r"iv 2")
INLET_VALVE: Final = any_of(r"iv1", r"inlet (?:isolating )?(?:valve|gate|isolator)", r"iv 1")
GATES: Final = any_of(
    r"iv1",
    r"iv2",
    r"iv 1",
    r"iv 2",
    r"isolating valves?",
    r"gates?",
    r"isolators?",
    r"(?:inlet|outlet) (?:isolating )?valves?",
)
DRAIN: Final = any_of(r"td", r"td2", r"test drain", r"drain")
PART: Final = any_of(
    r"(?:closing|opening) (?:speed|time)",
    r"restrictors?",
    r"the trip(?= (?:a|an|by|to|up|down|nearer|higher|lower)\b)",
    r"the protection(?= (?:a|an|by|to|up|down|higher|lower)\b)",
    r"trip(?= (?:set|setting|nearer))",
    r"pilots?",
    r"adjusters?",
    r"(?:speed|flow) controls?",
    r"handwheel",
    r"screw",
    r"(?:lock[- ]?)?nuts?",
    r"locknut",
    r"springs?",
    r"setting",
    r"needles?",
    r"filters?",
    r"strainer element",
    r"feed(?: cock| line| filter)?",
    r"sens(?:e|ing) (?:line|tube|cock|tap|fitting)s?",
    r"root cocks?",
    r"cocks?",
    r"exhaust",
    r"covers?",
    r"diaphragm",
    r"bonnet",
    r"chamber",
    r"bracket",
    r"restriction",
    r"bore",
    r"tubes?",
    r"cap",
)
HELD_PART: Final = any_of(
    r"adjusters?",
    r"(?:speed|flow) controls?",
    r"screw",
    r"(?:lock[- ]?)?nuts?",
    r"locknut",
    r"setting",
    r"spring",
)
SEAL_ONLY: Final = any_of(
    r"seal(?:s|ed|ing)?",
    r"paint(?:ed)?",
    r"marked",
    r"photo\w*",
    r"wire seal",
    r"read",
    r"compared",
    r"listed",
)
