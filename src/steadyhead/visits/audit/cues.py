"""Phrases of site notes that tell of an act or a state a senior reader stops at."""

from __future__ import annotations

import re
from typing import Final

from steadyhead.visits.audit.phrases import with_more

_HANDLED: Final = re.compile(
    r"\b(?:re-?)?(?:tighten(?:ed|ing)?|nipped(?: up)?|nip(?: up)?|pinch(?:ed)?|snugg?ed|torqued|"
    r"pulled (?:up|tight)|"
    r"slacken(?:ed|ing)?|loosen(?:ed|ing)?|eased|turned|tweaked|tweak|adjust(?:ed|ing)|trimmed|"
    r"wound|screwed|raised|lowered|"
    r"(?:gave|given|giving) (?:[\w-]+ ){0,6}?(?:turn|touch|tweak|nip|pull|eighth|quarter|half|hair)|"
    r"took (?:\w+ ){0,5}?(?:turn|off|out|apart|up)|brought|knocked|bumped|"
    r"stood on(?! (?:the |their |its |our |a )?(?:screen|display|board|list|desk|page|panel))|kicked|shifted|"
    r"cleaned|rinsed|blew (?:out|through)|"
    r"blown (?:out|through)|replaced|swapped|changed|renewed|exchanged|refitted|removed|stripped|"
    r"greased|oiled|dismantled|"
    r"bled|wiped|pull(?:ed|ing) (?:\w+[ -]){0,5}?(?:tight|up|home|down)|"
    r"brought (?:\w+[ -]){0,4}?(?:up|home|back|down|in)|"
    r"got (?:\w+ ){0,3}?(?:hair|touch|turn|"
    r"eighth|quarter|flat|nip|tweak|bit)|"
    r"(?:closed|opened|screwed|wound|brought|put|run|ran) (?:\w+[ -]){0,5}?(?:in|out|"
    r"by) (?:by )?(?:\d+|a|an|half|one)|turned (?:it )?back|"
    r"locked (?:it|the (?:nut|screw))|"
    r"taken (?:\w+ ){0,4}?(?:off|out|apart|down)|"
    r"(?:a|an|another|one|half a) (?:hair|touch|whisker|flat|eighth|quarter|half|notch|bit|shade|"
    r"fraction)(?: of a turn)? (?:in|out|tighter|looser|"
    r"softer|harder)|"
    r"corrected|put (?:\w+ ){0,4}?(?:turn|back)|put in|re-?set to|reseated|tightening)\b"
    r"|[½¼¾⅛⅜]\s*(?:of a )?turn|\b(?:quarter|half|eighth|one|a|"
    r"another)(?:[- ]of)?[- ](?:a[- ])?(?:turn|flat)\b|"
    r"\bflat (?:in|out|up|down)\b"
    r"|\d+\s*/\s*\d+\s*(?:of a )?turn|\d+\s*(?:°|deg(?:rees)?)\s*(?:in|out|clockwise|anti)",
    re.IGNORECASE,
)
"""A hand on a setting, a nut or a part; ``nut tight`` is a state and not meant."""
HANDLED: Final = with_more(
    _HANDLED,
    "(?:eighth|quarter|half|hair|flat|touch|notch)(?: of a)?(?: turn)? (?:in|out) on",
    "(?:secured|done up|tightened|made tight) with (?:a|the) \\w+",
    "swilled",
    "(?:did|doing) (?:it|them|that|this|(?:the|its) (?:\\w+ )?nuts?) up(?! to)",
    "(?:and|was|were|then|been|got|now|again) (?:\\w+ )?(?:done|made|drawn) (?:up|tight)",
    "altered",
    "(?:a|the) (?:new|other|spare|different) one",
    "(?:a|another|one|the) (?:last |final |little |small |good |quick "
    ")?(?:pull|nip|tweak|wrench|heave|twist)",
    "unscrewed",
    "taken (?:up|in|down)",
    "set (?:up|down) (?:from|to|by)",
    "re-?routed",
    "reconnected",
    "jogged",
    "re-?set",
    "spannered",
    "wrenched",
    "drawn (?:up|in|tight|down)",
    "put (?:a|the) new \\w+",
    "put (?:a|another|some) \\w+ (?:on|in|to|round)",
    "polished",
    "brushed",
    "washed",
    "scraped",
    "blown",
    "hammered",
    "tapped",
    "hit",
    "straightened",
    "bent",
    "undone",
    "unscrewed",
    "freed",
    "fitted",
    "retorqued",
    "vented",
    "(?:worked|came|shaken) loose",
    "given (?:a|one|another|its) (?:\\w+ )?(?:eighth|quarter|half|turn|touch|nip|tweak|pull|hair)",
    "came (?:down|up|in|out) (?:a|an|one|half)",
    "set (?:to|at|back|higher|lower|up|down)",
    "re-?gapped",
    "re-?fixed",
    "lifted off",
    "a new (?:diaphragm|spring|filter|seat|needle|pilot|cap|nut)",
    "cut (?:in|back) (?:a|by)",
    "walked (?:in|out)",
)
WORKED: Final = re.compile(
    r"\b(?:opened|closed|shut|cracked|isolated|bled|turned off|turned down|throttled|pinched|moved)\b",
    re.IGNORECASE,
)
_BRIDGED: Final = re.compile(
    r"\b(?:jumper\w*|bridg(?:ed|ing)|shorted|short(?:ing)? (?:out|across)|link(?:ed)? (?:out|"
    r"across)|wire (?:link )?across|"
    r"loop(?:ed)? (?:out|across)|paper ?clip|crocodile clips?|link wire|contacts? (?:closed|"
    r"made) by hand|"
    r"across (?:the )?(?:terminals?|contacts?|\d+ and \d+)|(?:switch|contact|lever|arm|roller|"
    r"plunger)(?: arm| lever| contact)? (?:was )?(?:held|"
    r"pressed|pushed|lifted|worked|flicked|"
    r"operated|thumbed)(?: down| up| over| in| by)?|"
    r"(?:toggled|forced|simulated|keyed|set) (?:\w+ ){0,3}?(?:point|input|signal|bit|contact|"
    r"outstation|rtu|alarm)|(?:pressed|pushed|lifted|worked|"
    r"operated|tripped|held|moved|flicked|"
    r"made) (?:the )?(?:switch|lever|cam|plunger|roller|"
    r"contact|microswitch|limit switch)"
    r"(?: lever| roller| arm| plunger)?(?: over| in| down)?(?: by hand| with \w+(?: \w+)?)?|"
    r"simulated (?:at|from|in|the)|"
    r"forced the (?:input|signal|point|contact)|signal (?:was )?(?:forced|simulated)|magnet)\b",
    re.IGNORECASE,
)
BRIDGED: Final = with_more(
    _BRIDGED,
    "(?:tripp|work|operat|push|press|mov)ing the (?:limit |micro ?)?(?:switch|lever|roller|contact)",
    "(?:cores|wires|leads|ends) (?:were |was )?(?:twisted|joined|touched|held|put) together",
    "contacts? (?:was |were )?made (?:with|by)",
    "wire (?:put )?(?:over|on) (?:the )?(?:\\w+ )?(?:terminals?|contacts?)",
    "(?:rod|stem|arm) (?:was )?(?:lifted|pushed|moved|held) by hand",
    "(?:lifted|pushed|moved|held) the (?:switch )?(?:rod|arm|stem|roller)",
    "(?:alarm|signal|text|point) (?:was "
    ")?(?:injected|forced|sent|made|raised|simulated|triggered) "
    "(?:from|at|in|by|with)",
    "cam (?:was )?(?:turned|rotated|moved|pushed|lifted) (?:\\w+ )?(?:until|till|by hand|over)",
    "(?:roller|lever|switch|micro ?switch|plunger|arm)(?: \\w+)? (?:was "
    ")?(?:pushed|pressed|held|moved|lifted) "
    "(?:over|down|in|up|by|with)",
    "(?:across|between) (?:terminals?|contacts?|\\d+ and \\d+(?![.,]\\d| ?(?:psi|bar|kpa|m)))",
    "screwdriver across",
    "(?:touched|joined|held|put|twisted) (?:the )?(?:\\w+ )?(?:ends|cores|wires|leads) together",
    "wire (?:between|over|from \\d+ to \\d+)",
)
_FAST: Final = re.compile(
    r"\b(?:in one (?:go|pull|swing|sweep|move)|all at once|thrown|threw|flung|slung|snapped|"
    r"slammed|spun|spin|whipped|banged|"
    r"straight (?:open|shut|to full|round|off the seat)|quick(?:ly)?|swung|ripped|yanked|heaved|"
    r"slapped|without (?:a )?stop|in (?:under|less than) (?:a|"
    r"one|1|two|2) minutes?|in (?:a few|"
    r"some|ten|fifteen|twenty|thirty|\d{1,2}) sec(?:ond)?s?|"
    r"fast|rapidly|swiftly|in a hurry|"
    r"hurried|rushed|at a run|one heave|"
    r"without (?:a )?(?:stages|stopping|pause|waiting)|"
    r"no (?:stages|stops|pauses|equalising|equalizing|waiting)|not equali[sz]ed|not in stages|"
    r"as fast as)\b",
    re.IGNORECASE,
)
FAST: Final = with_more(
    _FAST,
    "in a rush",
    "pipe(?:work)? (?:shook|jumped|kicked)",
    "as (?:quick|fast|hard) as",
    "straight up",
    "straight off",
    "(?:a |the )?(?:bang|thump|thud|knock|hammer\\w*) (?:in|through|from) the (?:main|pipe|line)",
    "half a minute",
    "(?:power|battery|electric|air|cordless) (?:tool|driver|drill|wrench|gun|machine|actuator)",
    "(?:drill|impact gun|nut runner) on the (?:spindle|stem|key)",
    "battery (?:driver|tool|drill|wrench)",
    "impact (?:driver|wrench)",
    "(?:inside|within|under) (?:a |half a |a quarter of a |one )(?:minute|moment)",
    "(?:whirled|hurled|hauled|cranked|raced|wrenched|jerked|knocked|tore) (?:it |them |the "
    "|IV\\d )?(?:\\w+ )?(?:open|shut|round)",
    "(?:took|needed|in) no time",
    "(?:a |one )?single (?:sweep|go|pull|swing|movement)",
    "full speed",
    "top speed",
    "(?:ten|fifteen|twenty|thirty|forty|fifty|sixty) sec(?:ond)?s",
    "in (?:a|one|half a) minute(?: each)?",
    "nobody counted",
    "not counted",
    "before (?:the )?\\w+ had finished",
    "one continuous",
    "no slowing",
    "without slowing",
    "wide open at once",
    "kicked open",
    "jerked",
    "(?:thump|bang|thud|jolt|shudder|water ?hammer)(?:s|ed)?",
    "(?:whirled|whizzed|raced|romped|shot|flew|zipped|dashed|hurled|rattled|blasted|tore|cranked hard)",
    "(?:no|not|n['’]t|without)(?: \\w+){0,3} (?:stages|stops|pauses|waits)",
    "before (?:anyone|anybody|the gauge|T[0-4]|we|they|he|she) (?:could|had|caught)",
)
SLOW: Final = re.compile(
    r"\b(?:slow(?:ly|est|er)?|in stages|by stages|stage by stage|staged|gently|eased)\b", re.IGNORECASE
)
_BUBBLES: Final = re.compile(
    r"\b(?:not (?:yet |quite |fully |entirely )?(?:bubble[- ]?free|clear of (?:air|bubbles)|"
    r"free of (?:air|bubbles)|solid)|still (?:spit\w*|"
    r"bubbl\w*|milky|some air|air|a few bubbles|"
    r"frothy|spong\w*|coming with air)|(?:some|few|odd|little) (?:air|bubbles?) (?:left|still|"
    r"remain\w*|yet|coming|now and then)|spitting (?:still|"
    r"when)|air (?:still|left|remains|"
    r"remained)|"
    r"(?:kept|keeps) (?:on )?(?:spitting|bubbling)|spongy|bled (?:only )?(?:half|partly|part)|"
    r"(?:came|coming|comes) in (?:bursts|gulps|spits|slugs)|"
    r"gurgl\w*)\b",
    re.IGNORECASE,
)
BUBBLES: Final = with_more(
    _BUBBLES,
    "bubbles? (?:\\w+ )?to the (?:end|last)",
    "air (?:kept|keeps|was still|is still) coming",
    "(?:kept|keeps) coming",
    "more air than water",
    "half air",
    "foam\\w*",
    "still hissing",
    "still (?:\\w+ )?(?:milky|white|cloudy|frothing|foaming|spitting|bubbling|spluttering)",
    "gave up on (?:\\w+ ){0,3}?(?:air|bubbles?)",
    "still (?:\\w+ ){0,4}(?:air|bubbles?)",
    "(?:air|bubbles?) (?:\\w+ ){0,6}when (?:we|I|he|she) (?:quit|stopped|left|closed|tightened|went)",
)
_UNATTENDED: Final = re.compile(
    r"\b(?:unattended|(?:both|all|everybody|everyone|the (?:two|three|whole (?:crew|team)|"
    r"lot) of us|all hands) (?:of us )?(?:were |was |had |"
    r"have |are |went )?(?:away|off|out|gone|"
    r"up top|at the (?:inn|pub|caf\w+|canteen|van|depot|"
    r"office|yard|shop|hotel)|at (?:lunch|"
    r"dinner|tea|breakfast|home)|to the \w+|in the (?:van|"
    r"caf\w+|canteen|inn|pub|office))|"
    r"called (?:to (?!say|confirm|tell|ask|check|report|let|warn)|away |off |out (?!the |each|every|readings|"
    r"figures|values|T\d))|stopped for the (?:day|night)|"
    r"(?:the )?rest (?:is for )?tomorrow|knocked off|"
    r"packed up|back (?:after|in) (?:\d+|an|half|"
    r"two|three) ?(?:min\w*|hours?|h)\b|"
    r"nobody (?:in|at|stayed|on)|no one (?:in|at|stayed|on)|left (?:the )?(?:site|"
    r"chamber|station|plant ?room|it alone|alone|like that|"
    r"standing)|"
    r"all (?:up )?(?:at|to|for) (?:lunch|the van|tea)|went (?:for|to) (?:lunch|tea|the van|fetch|"
    r"dinner|the depot|a call)|"
    r"lunch (?:break )?(?:for )?(?:all|both|everybody)|"
    r"both (?:to|at|for|off to|went|of us) (?:\w+ )?(?:lunch|the van|tea|dinner|the depot|away|"
    r"off)|drove (?:off|to|back)|over ?night|called away|"
    r"(?:gone|away) (?:for|to))\b",
    re.IGNORECASE,
)
UNATTENDED: Final = with_more(
    _UNATTENDED,
    "(?:the )?whole (?:gang|crew|team|squad|party|lot of (?:us|them)) (?:\\w+ )?(?:to|at|in|off|away|up|out)",
    "(?:the )?whole lot (?:\\w+ )?(?:off|away|(?:to|at|in) (?:the |a )?(?:lunch|tea|dinner|breakfast|van|"
    "lorry|"
    "depot|yard|office|canteen|caf\\w+|pub|inn|hotel|mess|cabin))",
    "(?:the )?gang (?:\\w+ )?(?:to|at|in|off|away|up|out)",
    "away from the (?:station|chamber|site|valve)",
    "(?:nobody|no one) (?:below|down (?:there|below)|with it|by it)",
    "left (?:it|all|everything) (?:like (?:this|that)|so|as it (?:is|was)|standing) and "
    "(?:went|drove|walked)",
    "(?:went|gone|drove|walked) (?:off )?(?:for|to|to fetch) (?:the )?\\w+,? (?:both|all) of us",
    "(?:all|both) of us (?:up|out|off|away|home)",
    "(?:everybody|everyone|crew|team|gang) (?:\\w+ )?(?:home|up|out|off|away)",
    "(?:chamber|station|pit|vault) (?:closed|locked|shut)(?: up)? for",
    "(?:all|both|everybody|everyone|the (?:crew|team|lot))(?: of us)? (?:\\w+ "
    "){0,2}?(?:at|in|to|for) (?:the |a )?"
    "(?:depot|yard|office|van|lorry|canteen|shop|inn|pub|caf\\w+|lunch|dinner|tea|breakfast|hotel|home)",
    "broke (?:off )?for (?:lunch|dinner|tea|breakfast)",
    "(?:everyone|everybody|all|both) (?:\\w+ )?(?:in|at) the (?:mess|mess room|cabin|rest room|car|lorry)",
    "left site",
    "stayed below",
    "(?:dinner|lunch|tea|dinner) hour",
    "(?:chamber|station|pit|plant ?room) (?:was |stood |left )?empty",
    "(?:left|stood) (?:it )?standing so",
    "the lid (?:down|on|shut|locked)",
    "went home",
    "gone home",
    "to the depot",
    "next morning",
    "over the weekend",
    "came back (?:after|at|in)",
)
SKIPPED: Final = re.compile(
    r"\b(?:skipped|skip(?:ping)?|left out|leave out|omitted|dispensed with|did without|"
    r"done without|not (?:done|repeated|carried out|made|"
    r"taken|"
    r"measured|tried|tested|checked|proved|read|looked|run)|no time (?:for|to)|"
    r"time (?:was )?short|ran out of time|"
    r"took (?:it )?as read|taken as read|assumed|"
    r"dropped|saved (?:the|ourselves)|saves? time|not needed|unnecessary|waived|not bothered|"
    r"no third|no second|two (?:runs )?(?:will do|enough|"
    r"are enough|suffice))\b",
    re.IGNORECASE,
)
_FROM_MEMORY: Final = re.compile(
    r"\b(?:from memory|wrote? (?:it |them |this )?(?:up |down )?(?:later|afterwards|in the van|"
    r"that evening|at home)|written (?:up |down )?(?:later|"
    r"afterwards|in the van|that evening)|"
    r"filled in (?:later|afterwards|that evening|in the van)|guess(?:ed)?|copied from (?:last|"
    r"the last|the old|the plan)|same as last (?:year|time)|"
    r"typed later|reconstructed|"
    r"nobody (?:had )?(?:looked|read)|(?:put|set|"
    r"taken) (?:down|over) from (?:the )?(?:last|"
    r"previous|old)|(?:did not|didn't) (?:say|note|"
    r"write) which (?:gauge|tap)|which (?:gauge|"
    r"tap) (?:is|was) not)\b",
    re.IGNORECASE,
)
FROM_MEMORY: Final = with_more(
    _FROM_MEMORY,
    "gauge not (?:named|noted|known)",
    "tap not (?:named|noted|known)",
    "over the radio",
    "our guess",
    "copied (?:from|over|out of)",
    "(?:figure|reading|value|number)s? (?:was |were )?(?:given|passed|came|called) (?:\\w+ )?(?:by|over)",
    "nobody (?:had )?(?:wrote|written|noted|named)",
    "filled in (?:at|afterwards|by|from(?! upstream| downstream| the (?:inlet|top|left|first))|in|so)",
    "(?:invented|made up|cooked|estimated by eye)",
    "is a guess",
    "as (?:it )?usually (?:is|reads)",
    "ticked from",
)
RUBBED: Final = re.compile(
    r"\b(?:overwrote|overwritten|written over|rubbed out|erased|whited out|deleted|"
    r"altered the (?:figure|value|reading|entry)|page torn|"
    r"changed the (?:figure|value|reading|entry|number)|replaced the sheet)\b",
    re.IGNORECASE,
)
AVERAGED: Final = re.compile(
    r"\b(?:averag\w+|mean of|ignored|disregard\w*|discard\w*|not counted|"
    r"struck (?:\w+ ){0,4}?(?:out|from|off)|"
    r"crossed out|thrown out|"
    r"threw (?:it )?(?:out|away)|thrown away|binned|scrapped|left (?:\w+ ){0,4}?out)\b",
    re.IGNORECASE,
)
AT_ONCE: Final = re.compile(
    r"\b(?:at once|straight ?away|straight off|immediately|first thing|right away|"
    r"before (?:reading|anything|any gauge|looking)|"
    r"without (?:reading|looking)|on arrival)\b",
    re.IGNORECASE,
)
_DEAD_GAUGE: Final = re.compile(
    r"\b(?:gauge cock (?:(?:of|to|on|for) \S+ )?(?:was |found |still |had been |left )*(?:shut|"
    r"closed)|cock (?:of|to|under) (?:the |"
    r"that )?(?:\S+ )?gauge (?:was |found |still )*(?:shut|"
    r"closed)|needle (?:stuck|did not|never|does not|didn't|"
    r"stayed|stood still|stays)|"
    r"(?:its|the) cock (?:was |only |still )?(?:half|nearly|almost|partly|quarter)[- ](?:shut|"
    r"closed|open)|cock (?:half|nearly|almost|"
    r"partly)[- ](?:shut|closed|open)|"
    r"gauge (?:stuck|frozen|dead(?! (?:level|flat|steady|still|true|even|"
    r"calm))|did not|never|does not|didn't|never moved|stayed|isolated|"
    r"stays at)|(?:stuck|frozen|dead|sticking) gauge|"
    r"did not (?:come|go|fall|drop|"
    r"return) (?:back )?to zero|"
    r"would not (?:come|go|return) (?:back )?to zero|(?:stayed|stays|stood|"
    r"stuck) at \d+(?:\.\d+)? (?:\w+ )?(?:though|although|"
    r"with|while|even))\b",
    re.IGNORECASE,
)
DEAD_GAUGE: Final = with_more(
    _DEAD_GAUGE,
    "(?:TG|PG|gauge)[\\w-]* (?:hangs|sticks|hung (?:at|up|on))",
    "a (?:knock|tap) (?:frees|freed)",
    "isolated at (?:its|the) cock",
    "(?:showed|shows|read|reads|stood at|stayed at) \\d+(?:\\.\\d+)? (?:\\w+ "
    ")?(?:also|even|still|as well) (?:with|when|while|after)",
    "(?:stayed|stood|stays|stuck|remained) where (?:it|they) (?:was|were|is)",
    "sticks? (?:below|at|above|near)",
    "(?:does|did) not fall back",
    "cock must have been shut",
    "gauge cock (?:\\w+ ){0,3}?(?:half|nearly|partly|almost|quarter)?[- ]?(?:shut|closed) (?:all "
    "along|after all|throughout)",
    "found (?:the |its )?(?:gauge )?cock (?:under|of|to|on|at|for|below) \\S+ (?:\\S+ )?(?:shut|closed)",
    "(?:kept|went on|still) (?:on )?(?:reading|showing) (?:about )?\\d",
    "cock (?:to|of|on|under|below) (?:the )?(?:TG|gauge)\\S* (?:\\w+ ){0,6}?(?:shut|closed)",
    "(?:TG|gauge)[\\w-]* (?:was |had been |found )?(?:isolated|shut off|valved off)",
    "(?:pointer|needle|dial|hand) (?:had |has |was |is )?(?:not|never) (?:moved|moving|stirred)",
    "(?:TG|gauge|needle|pointer)[\\w-]* (?:did|does|would) not (?:follow|respond|react|budge|drop|fall)",
    "gauge cock (?:had been|was found|was still|found) (?:\\w+[ -])?(?:shut|closed)",
    "(?:stayed|stays|stood|remained) at (?:its|the) (?:last|old|same) (?:figure|reading|value|mark)",
    "(?:TG|PG|DG|gauge)[\\w-]*(?:'s)? cock (?:was |been |found |only |still |standing )*"
    "(?:(?:half|nearly|almost|partly|quarter|three[- ]quarters?)[- ])?(?:shut|closed)",
    "needle (?:had |has |was |is )?(?:hung|hanging|hangs|stuck|sticking)",
    "(?:hung|hangs|stuck) at (?:about |some |around )?\\d+",
    "would not move",
    "never (?:moved|stirred|came)",
    "(?:blocked|plugged) snubber",
)
_PRESSED: Final = re.compile(
    r"\b(?:still (?:some |a little )?(?:under )?pressure|under pressure|pressure (?:still )?(?:on|"
    r"behind|under|in)|hiss\w*|jet|spray\w*|spurt\w*|"
    r"squirt\w*|gush\w*|not (?:been )?vented|"
    r"without (?:venting|a look|looking|checking|waiting)|before (?:venting|it was vented|zero|"
    r"the gauge|T1)|no (?:zero|gauge)|not (?:yet )?(?:at |"
    r"on )?zero|lifted itself|wept|"
    r"still showed)\b",
    re.IGNORECASE,
)
PRESSED: Final = with_more(
    _PRESSED,
    "bled off past",
    "past the gasket",
    "nobody (?:had )?looked at the gauge",
    "\\d (?:bar|psi|kpa|mh2o) (?:still |left )?(?:on|in|at|behind|showing)",
    "still (?:at |on )?\\d+(?:\\.\\d+)? ?(?:bar|psi|kpa|mh2o)",
    "water (?:shot|came) (?:up|out|with)",
    "(?:drain|vent) not (?:yet )?(?:opened|open|run)",
    "not (?:yet )?drained",
    "straight after",
    "soaked",
    "(?:fan|jet|mist|spout|curtain|sheet|plume) of water",
    "water (?:stood|shot|flew|spat|sprang|squirted|came) (?:out|up|off|with)",
    "(?:lid|cover|it) (?:flew|jumped|sprang|shot|kicked)",
    "with a (?:bang|jump|whoosh|crack|pop)",
    "nothing (?:was |had been )?(?:let out|vented|drained|released)",
    "blew (?:off|out|the)",
)
