"""Findings about the layout: what senses what, what can be isolated and drained, what fails together."""

from __future__ import annotations

from steadyhead.findings.catalogue.entry import Entry

_HB = "design handbook"
_OWN = "own reasoning from the physics of pilot-operated valves"
_CP = "common practice, no single source"

ENTRIES: tuple[Entry, ...] = (
    Entry(
        "LAY-01",
        "layout not covered",
        "{subject}: {got}. Covered on each way through the station are one reducer, or two in series "
        "(staged, or "
        "worker and monitor), alone or with one shut-off ahead of them or behind them.",
        "Ladder and sizing of another layout would be worked out with the wrong pressures.",
        "Describe each way with one of these layouts.",
        sources=(f"{_HB} 2.6",),
    ),
    Entry(
        "LAY-02",
        "shut-off senses the wrong place",
        "{shut_off} senses {tap}, which lies {where}. It must sense the outlet, after the last valve.",
        "Between the valves it stays tripped while the consumers drain to zero, or trips on the inlet. It "
        "does not see "
        "what the consumers see.",
        "Sense the outlet through a tap and root cock of its own.",
        sources=(f"{_HB} 3.6", _OWN),
    ),
    Entry(
        "LAY-03",
        "reducer senses beyond the shut-off",
        "{reducer} senses {tap}, beyond {shut_off}.",
        "When the shut-off shuts, the reducer sees a falling pressure and opens wide. The reset then gives "
        "the full inlet "
        "pressure to the consumers, or a second trip with a surge in the supply main.",
        "Let the reducer sense the section between it and the shut-off. If it stays, the restart plan "
        "starts from a reducer found wide open.",
        sources=(f"{_HB} 3.6", _OWN),
    ),
    Entry(
        "LAY-04",
        "reducer does not sense its outlet",
        "{reducer} senses {tap}, which does not lie after it.",
        "A reducer that senses its own inlet does not hold its outlet.",
        "Name a tap after the reducer.",
        sources=(_OWN,),
    ),
    Entry(
        "LAY-05",
        "shut-off senses beyond the outlet isolating valve",
        "{shut_off} senses {tap}, beyond {valve}.",
        "With that valve shut the shut-off is blind, so the line cannot be raised to prove it.",
        "Sense between the last valve and the outlet isolating valve, or prove by injection at the pilot.",
        sources=(f"{_HB} 3.5",),
    ),
    Entry(
        "LAY-06",
        "no drain on the outlet",
        "No drain stands between the last valve and the outlet isolating valve.",
        "Pressure in a full section falls only when water leaves. Without a drain the trip cannot be "
        "proved and a lowered "
        "setting cannot be read.",
        "Fit a test drain on the outlet section.",
        sources=(f"{_HB} 0.4, 3.1 V2", _OWN),
    ),
    Entry(
        "LAY-07",
        "no drain between the valves",
        "No drain stands between {above} and {below}.",
        "After a trip this section stays under pressure: it falls only through a drain of its own.",
        "Fit a drain on the section between the valves.",
        sources=(f"{_HB} 3.6, 3.6a", _OWN),
    ),
    Entry(
        "LAY-08",
        "no inlet isolating valve",
        "No isolating valve stands before the first valve.",
        "Its small opening is the protection while the shut-off is out of action. Nothing can be opened "
        "without it.",
        "Fit an isolating valve ahead of the station and state its turns.",
        sources=(f"{_HB} 3.1 V2",),
    ),
    Entry(
        "LAY-09",
        "no outlet isolating valve",
        "No isolating valve stands after the last valve.",
        "The consumers cannot be kept out of a test, so the line cannot be raised to the trip.",
        "Fit an outlet isolating valve; without one no plan is written.",
        sources=(f"{_HB} 3.1 V1, 3.5",),
    ),
    Entry(
        "LAY-10",
        "sensing tap shared",
        "{shut_off} shares its sensing tap with the reducer.",
        "A shut or blocked tap drives the reducer open and blinds the shut-off at the same time. That "
        "failure is not "
        "credited.",
        "Give the shut-off a tapping and root cock of its own.",
        sources=(f"{_HB} 2.3, 2.4a", _OWN),
    ),
    Entry(
        "LAY-11",
        "sensing tap not known",
        "It is not known whether {shut_off} has a sensing tap of its own.",
        "A tap shared with the reducer lets one blocked cock disable both.",
        "Look, and write own or shared with reducer.",
        sources=(f"{_HB} 2.4a",),
    ),
    Entry(
        "LAY-12",
        "shut-off is not fail-safe",
        "{shut_off} closes by line pressure: a torn diaphragm, a blocked or shut feed leave it open "
        "without a sign.",
        "Without pressure in its chamber the line lifts it open. This failure stays hidden until the proof "
        "test.",
        "Prove it at intervals. Where that is not enough, a spring- or weight-closed type closes without "
        "line pressure.",
        sources=(f"{_HB} 0.3, 2.4a", _OWN),
    ),
    Entry(
        "LAY-13",
        "not known what closes the shut-off",
        "It is not known what drives {shut_off} shut.",
        "A shut-off closed by line pressure cannot close with a torn diaphragm. A spring or a weight can.",
        "Look at the plate or the supplier's sheet and write line pressure, spring or weight.",
        sources=(f"{_HB} 0.3",),
    ),
    Entry(
        "LAY-14",
        "closing line bypasses the reducer",
        "{shut_off} is closed by water from the station inlet and stands after the reducer.",
        "A torn diaphragm or a passing pilot of the shut-off then feeds inlet water to the consumers past "
        "the reducer.",
        "Take the closing water from the shut-off's own inlet, or give the line a cock and a filter and "
        "list the failure.",
        sources=(f"{_HB} 3.6", _OWN),
    ),
    Entry(
        "LAY-15",
        "not known where the closing water comes from",
        "It is not known where {shut_off}, after the reducer, takes its closing water from.",
        "From the station inlet that line bypasses the reducer. From its own inlet it is weakest just when "
        "a slow creep trips it.",
        "Look, and write own inlet or station inlet.",
        sources=(f"{_HB} 3.6",),
    ),
    Entry(
        "LAY-16",
        "closing water weak in a slow creep",
        "{shut_off} is closed by water from its own inlet, after the reducer.",
        "In a slow creep there is little difference across it, so little more than its spring drives the "
        "stroke.",
        "Time the stroke at a trickle and keep the time with its pressures.",
        sources=(f"{_HB} 3.6, 2.4a", _OWN),
    ),
    Entry(
        "LAY-17",
        "shared filter",
        "Reducer and shut-off take chamber water through a shared filter.",
        "A blocked filter opens the reducer and keeps the shut-off from closing.",
        "Give each chamber feed a filter of its own.",
        sources=(f"{_HB} 2.3, 2.4a", _OWN),
    ),
    Entry(
        "LAY-18",
        "isolating valve passes",
        "{valve} does not shut off.",
        "A valve that passes lets test pressure on to the consumers, or keeps the section under pressure.",
        "Repair it, or choose another boundary valve for the tests.",
        sources=(f"{_HB} 3.1 V1",),
    ),
    Entry(
        "LAY-19",
        "tightness of an isolating valve not known",
        "It is not known whether {valve} shuts off.",
        "The plan proves it before any pressure is raised; if it passes, the tests need another boundary.",
        "Prove it on the visit and write yes or no.",
        sources=(f"{_HB} 3.2 D2",),
    ),
    Entry(
        "LAY-20",
        "bypass not locked shut",
        "{branch} is not locked shut.",
        "Opened by hand it feeds inlet water past the reducer within seconds.",
        "Lock it shut and keep the number of the lock.",
        sources=(f"{_HB} 2.4a",),
    ),
    Entry(
        "LAY-21",
        "bypass goes round the shut-off too",
        "{branch} goes round {shut_off} as well.",
        "With the bypass open the shut-off closes and protects nobody.",
        "Let the shut-off stand outside the bypass, or lock the bypass and list the failure.",
        sources=(f"{_HB} 2.4a", _OWN),
    ),
    Entry(
        "LAY-22",
        "no limit switch",
        "{shut_off} has no limit switch.",
        "A trip is seen only when consumers call.",
        "Fit a limit switch; for new work one that tells when the valve leaves open.",
        sources=(f"{_HB} 2.3", _CP),
    ),
    Entry(
        "LAY-23",
        "limit switch tells reaches closed",
        "The limit switch of {shut_off} tells when it reaches closed.",
        "A valve stuck part open gives no alarm, and a made contact proves no tightness.",
        "For new work choose a contact that tells when the valve leaves open.",
        sources=(f"{_HB} 2.3",),
    ),
    Entry(
        "LAY-24",
        "no hand pump",
        "The crew brings no hand pump.",
        "The outlet isolating valve is then proved with the reducer in small steps, and an injection proof "
        "is not possible.",
        "Bring a hand pump with a hose that fits the test points.",
        sources=(f"{_HB} 3.2 D2, 3.5",),
    ),
    Entry(
        "LAY-25",
        "shut-off resets by itself",
        "{shut_off} reopens by itself.",
        "With a failed reducer it trips and reopens again and again, and each cycle hammers the zone.",
        "Let the alarm latch electrically, or choose a shut-off reset by hand.",
        sources=(f"{_HB} 3.6", _OWN),
    ),
    Entry(
        "LAY-26",
        "shut-off on fire water",
        "Fire water passes {shut_off}.",
        "A trip shuts off fire water. In a fire line a shut-off may be forbidden, or need approval.",
        "Ask the fire authority. Answer with authority, decided, and shut_off: allowed, required or "
        "forbidden. Where it is forbidden, take {shut_off} out and show what else holds the pressure.",
        sources=(f"{_HB} 1.3, 2.6",),
        needs_authority=True,
        stops_on=("forbidden",),
    ),
    Entry(
        "LAY-27",
        "a trip leaves sensitive consumers dry",
        "A trip of {shut_off} leaves {consumers} without water: no other feed holds the zone.",
        "The shut-off protects pipes and takes water from people.",
        "Arrange another feed, or a duty and a standby stream; put the consumers on the call list.",
        sources=(f"{_HB} 2.1, 2.6",),
    ),
    Entry(
        "LAY-28",
        "no tell-tale",
        "The tell-tale of {shut_off} is {tell_tale}.",
        "With a tell-tale the setting is found without a full stroke. Without one each trial shuts the "
        "valve.",
        "Look for water at the exhaust port, a chamber gauge or a stem that leaves its stop.",
        sources=(f"{_HB} 3.6a DS4", _CP),
    ),
    Entry(
        "LAY-29",
        "no tap on a section",
        "No tap stands on the section {section}.",
        "A section without a gauge may hold pressure that nobody sees.",
        "Add a tap with a cock.",
        sources=(f"{_HB} 3.1 V11",),
    ),
    Entry(
        "LAY-30",
        "no strainer",
        "No strainer stands before the first valve.",
        "Debris on a seat or in a restriction is the commonest cause of a reducer that does not close.",
        "Fit a strainer ahead of the first valve.",
        sources=(f"{_HB} 2.3", _CP),
    ),
    Entry(
        "LAY-31",
        "live proof not allowed",
        "The line must not be raised to the trip of {shut_off}.",
        "The proof is then by injection at the pilot and covers less: not the tapping, not the root cock.",
        "Say in the certificate what the injection did not cover.",
        sources=(f"{_HB} 3.5",),
    ),
)
