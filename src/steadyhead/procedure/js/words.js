// Words of entries the judge goes by: the same as records/entry.py, touching.py and restoring.py; a test holds them alike.

export const KINDS = [
  "run", "person", "instrument", "choice", "reading", "action", "observation", "position", "photo", "note",
  "correction", "void", "deviation", "sign",
]
export const MOVES = [
  "open", "shut", "crack", "throttle", "isolate", "vent", "drain", "draw water", "flush", "fill", "pump",
  "hold", "release", "trip", "reset", "stroke by hand", "inject", "lock", "unlock", "connect", "disconnect",
]
export const TOUCHES = [
  "raise", "lower", "turn", "tighten nut", "slacken nut", "clean", "bleed", "remove", "refit", "replace",
  "repair", "adjust", "knock", "open cover", "close cover", "grease", "set",
]
export const NO_TOUCH = [
  "tick", "look", "second look", "prove tight", "prove live", "mark", "seal", "break seal", "tag", "untag",
  "call", "notify", "arrive", "leave", "sample", "disinfect", "set clock", "start", "stop", "hand over",
  "nothing touched",
  "defeat", "restore", "bridge contacts", "remove bridge", "break wire", "join wire", "alarm to test", "alarm live",
]
export const TELLS = [
  "tick", "look", "second look", "prove tight", "prove live", "mark", "seal", "break seal", "tag", "untag",
  "call", "notify", "arrive", "leave", "sample", "disinfect", "set clock", "start", "stop", "hand over",
  "nothing touched",
]
export const PAPERS = ["sign"]
export const LATER = ["reading", "observation", "photo", "note", "position", "choice"]
export const WORKS = {
  "tighten nut": "nut",
  "slacken nut": "nut",
  "raise": "setting",
  "lower": "setting",
  "turn": "setting",
}
export const PAIRS = {
  "defeat": "restore",
  "break wire": "join wire",
  "alarm to test": "alarm live",
  "bridge contacts": "remove bridge",
  "lock": "unlock",
  "hold": "release",
}
export const OUT = {
  "bridge contacts": "bridged",
  "lock": "locked",
  "hold": "held",
}
export const FITS = {
  "defeat": ["out_of_way", "cut_off"],
  "alarm to test": ["alarm_test"],
  "break seal": ["seal"],
}
export const UNDOES = {
  "restore": "defeat",
  "join wire": "break wire",
  "alarm live": "alarm to test",
  "remove bridge": "bridge contacts",
  "unlock": "lock",
  "release": "hold",
  "seal": "break seal",
}
export const OUT_OF_WAY = {
  "defeat": ["out_of_way", "cut_off"],
}
export const STROKES = ["trip", "reset", "stroke by hand"]
export const BACK = {
  "restore": "defeat",
  "join wire": "break wire",
  "remove bridge": "bridge contacts",
}
export const SEALS = {
  "break seal": "seal broken",
  "seal": "sealed",
}
export const HELD = ["lock", "hold"]
export const WIRED = ["switch", "cable", "alarm_text", "flow_switch"]
export const LETS_OUT = ["bleed", "turn"]

export const GUARDS = [
  "defeat", "restore", "bridge contacts", "remove bridge", "break wire", "join wire", "alarm to test", "alarm live",
]
export const TAKES_OFF = ["remove"]
export const CARRIED = ["connect", "disconnect", "remove", "refit", "replace", "position"]
export const FLOWS = ["vent", "drain", "draw water", "flush", "fill", "pump", "inject", "connect", "disconnect"]
export const VALVE_MOVED = [
  "trip", "reset", "stroke by hand", "hold", "release", "lock", "unlock", "start", "stop", "disinfect",
]
export const STAYS = [
  "connect", "disconnect", "pump", "inject", "hold", "release", "lock", "unlock", "clean", "grease", "bleed",
]
export const TAKEN = {
  "remove": "removed",
  "refit": "fitted",
}
export const PIECES = {
  "remove": "removed",
  "refit": "fitted",
  "replace": "fitted",
}
export const SAYS_WHICH = ["seated", "seat", "seats", "reseated", "dry", "cock", "cocks"]
export const CUTS_OFF = ["shut", "shuts", "closed", "half", "part", "partly", "cracked", "throttled", "cut"]
export const NAMES_ITS_THING = [
  "open", "shut", "crack", "throttle", "isolate", "hold", "release", "lock", "unlock", "connect", "disconnect",
]
export const SCREW = ["setting", "nut"]
export const ORDERED = ["raise", "lower", "bleed"]
export const NUTS = ["tighten nut", "slacken nut"]
export const STANDS = {
  "open": "open",
  "shut": "shut",
  "isolate": "shut",
  "crack": "part",
  "throttle": "part",
}
export const MOVED = [
  "open", "opened", "opens", "opening", "shut", "shuts", "shutting", "closed", "closes", "closing", "trip",
  "tripped", "latched", "unlatched", "reset", "acted", "moved", "half", "part", "partly", "service", "place",
  "restored", "dry", "seated", "tight", "sealed", "live", "left", "fitted", "normal", "found",
]
export const BESIDE = [
  "a", "again", "all", "and", "as", "at", "back", "before", "after", "by", "cock", "cocks", "dripping",
  "down", "end", "flow", "full", "fully", "hand", "in", "indicator", "intact", "is", "it", "its", "itself",
  "lever", "lifted", "lifts", "mark", "mm", "not", "now", "of", "on", "own", "photo", "pilot", "planned",
  "position", "pressure", "reseated", "run", "runs", "seal", "seals", "seat", "seats", "since", "stem",
  "still", "stop", "test", "the", "then", "to", "top", "turn", "turns", "unbroken", "up", "usual", "was",
  "water", "weeping", "whole", "wide", "with",
]
export const READY = ["service", "place", "restored", "live", "normal", "fitted"]
