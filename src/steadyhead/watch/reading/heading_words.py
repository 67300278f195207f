"""Words of the trade in headings, of the languages of Europe most used; lower case, no accents.

A word of four letters or more is looked for inside words too (*Eingangsdruck*), shorter ones as whole words.
"""

from __future__ import annotations

PRESSURE = (
    "pressure", "press", "pres", "druck", "pression", "presion", "pressione", "druk", "p", "pt", "head",
    "prs",
)  # fmt: skip
OF_PRESSURE: tuple[str, ...] = (
    "pressure", "druck", "pression", "presion", "druk", "press", "prs", "pressao", "tryck", "trykk", "tryk",
    "tlak", "cisnienie", "nyomas", "pritisak", "presiune", "tekanan", "apluc", "apsuat", "presioni",
    "slegis", "basinc", "basinci", "paine",
)  # fmt: skip
INLET: tuple[str, ...] = (
    "inlet", "upstream", "in", "up", "us", "entry", "supply", "vordruck", "eingang", "einlass", "zulauf",
    "zufluss", "vor", "amont", "entree", "entrada", "arriba", "monte", "ingresso", "entrata", "ingang",
    "voordruk", "inlaat", "toevoer", "bovenstrooms", "stroomopwaarts", "primary", "primaer", "primaire",
    "primario", "before", "avant", "antes", "prima", "voor", "alimentation", "einspeisung", "versorgung",
    "tulopaine", "montante", "wlot", "wlotowe", "przed", "inlopp", "inloppstryck", "innlop", "inn", "tilgang",
    "tilgangstryk",
    "tillopp", "vstup", "vstupni", "pred", "bemeno", "giris", "ein", "vordr", "pin", "feed", "pe",
    "intrare", "masuk", "wejsciu", "wejscie", "wejsciowe", "uzvodno", "dauvao", "vao", "ulaz", "ulazni",
    "vhod", "hyrje", "ivado", "truoc", "zuleitung",
    "netzdruck", "pvor", "av", "hochdruck",
)  # fmt: skip
OUTLET: tuple[str, ...] = (
    "outlet", "downstream", "out", "down", "ds", "nachdruck", "hinterdruck", "ausgang", "auslass", "ablauf",
    "nach", "aval", "sortie", "salida", "abajo", "valle", "uscita", "uitgang", "nadruk", "achterdruk",
    "jusante", "wylot", "wylotowe", "za", "utlopp", "utloppstryck", "utlop", "ut", "afgang", "afgangstryk",
    "vystup", "vystupni", "kimeno", "cikis", "uitlaat", "benedenstrooms", "stroomafwaarts", "secondary",
    "sekundaer", "secondaire", "secundario",
    "secondario", "after", "apres", "despues", "dopo", "na", "delivery", "zone", "reduced", "reduit",
    "reducida", "ridotta", "gereduceerd", "aus", "pout", "hinter", "ps", "controlled", "pnach",
    "iesire", "keluar", "wyjsciu", "wyjscie", "wyjsciowe", "nizvodno", "daura", "izlaz", "izlazni",
    "izhod", "dalje", "isvado", "sau", "niederdruck",
    "verbraucher", "regulee", "netz",
)  # fmt: skip
BETWEEN = (
    "between", "mid", "middle", "intermediate", "interstage", "zwischen", "intermediaire", "entre",
    "intermedia", "intermedio", "tussen", "tra", "fra", "pmid", "entredeux", "zwischendruck",
)  # fmt: skip
NO_READING = (
    "differential", "difference", "differenz", "delta", "dp", "pressuredrop", "druckverlust", "setpoint",
    "sollwert", "soll", "consigne", "consigna", "setpunt", "alarm", "alarme", "alarma", "allarme",
    "grenzwert", "threshold", "sp", "deviation", "stddev", "std", "set", "setting", "limit", "limite", "diff",
    "diferen", "different", "differenz", "roznica", "rozdil", "razlika", "selisih", "farki", "perdida",
    "perda", "perte", "perdita", "target", "ajuste", "nastawa", "zadana", "zadan", "hedef", "pilot", "minus",
)  # fmt: skip
"""Beside a pressure: a difference, a setting, a limit or a scatter, not the pressure at a tap."""
FLOW: tuple[str, ...] = (
    "flow", "q", "durchfluss", "durchfl", "volumenstrom", "debit", "caudal", "portata", "debiet",
    "przeplyw", "flode", "floede", "prutok", "vazao", "terfogataram", "debi", "vannmengde", "virtaama",
    "vandforing", "flowrate", "abgabe", "prurja", "protok", "pretok", "debitas", "caudalimetro",
    "luuluong", "discharge", "descarga", "kadaralir", "aliran", "pengaliran", "menge", "doorstroming",
    "durchsatz", "gasto", "fluss", "fl",
)  # fmt: skip
REVERSE = (
    "rev", "reverse", "reversed", "backward", "backflow", "retroceso", "reflujo", "inverso", "inversa",
    "inverse", "reverso", "reversa", "rueckfluss", "rueckwaerts", "retour", "terug", "wsteczny", "zpetny",
)  # fmt: skip
"""Beside a flow: what runs back, which is none of the station's."""
PULSES = (
    "pulse",
    "pulses",
    "impuls",
    "impulse",
    "impulses",
    "impulso",
    "impulsos",
    "impulsi",
    "pulso",
    "pulsos",
)
"""Counts of a meter whose size no heading tells in a unit."""
TRAVEL = (
    "position", "travel", "pos", "stellung", "hub", "oeffnung", "opening", "lift", "stroke", "course",
    "ouverture", "carrera", "apertura", "posicion", "posizione", "corsa", "klepstand", "klepopening",
    "kolbenweg", "ventilhub", "openingsgraad", "oeffnungsgrad", "stand", "opn", "valveopen", "aperture",
    "kleppositie", "stelling", "weg", "levee",
)  # fmt: skip
SHUT = (
    "shutoff", "so", "closed", "geschlossen", "absperr", "sav", "endschalter", "ferme", "fermeture",
    "fermee", "cierre", "cerrado", "cerrada", "chiuso", "chiusa", "blocco", "finecorsa", "afsluiter",
    "gesloten", "eindschakelaar", "limitswitch", "tripped", "trip", "findecourse", "finaldecarrera",
    "schnellschluss", "zu", "dicht", "fdc", "ausgeloest", "slamshut", "schliess", "sav", "declenche",
    "disparo", "intervento", "securite", "sicherheits", "securitekerend", "coupure", "corte",
    "intercettazione", "veiligheidsafsluiter",
)  # fmt: skip
TEMPERATURE: tuple[str, ...] = (
    "temperature",
    "temp",
    "temperatur",
    "temperatura",
    "temperatuur",
    "wassertemp",
    "tw",
    "eau",
)
BATTERY: tuple[str, ...] = (
    "battery", "batterie", "batt", "bat", "ubat", "bateria", "batteria", "batterij", "accu", "akku", "vbat",
    "pile", "pila", "voltage", "spannung", "tension", "spanning", "supplyvoltage", "alim",
)  # fmt: skip
INDEX: tuple[str, ...] = (
    "totaliser", "totalizer", "total", "zaehlerstand", "zaehler", "counter", "volume", "compteur",
    "contador", "contatore", "meterstand", "teller", "totalisateur", "acumulado", "cumul", "volumen",
    "tellerstand", "meterreading", "meterindex", "totalizador", "totalizzatore", "vol", "summe", "cumule",
    "zahlerstand", "lectura", "lettura", "totaal",
)  # fmt: skip
LEVEL: tuple[str, ...] = (
    "level", "pegel", "wasserstand", "niveau", "nivel", "livello", "peil", "fuellstand", "schacht",
    "chamber", "regard", "arqueta", "pozzetto", "waterpeil", "waterstand", "put", "sump",
)  # fmt: skip
RUNNING = (
    "no", "nr", "num", "number", "record", "rec", "lfd", "seq", "sequence", "id", "index", "row", "zeile",
    "ligne", "fila", "riga", "regel", "signal", "gsm", "rssi", "laufnummer", "samplenumber", "numero",
    "volgnummer", "feldstaerke", "senal", "segnale", "signaal", "laufende", "lfdnr", "count", "n", "linha",
    "fcnt", "cnt", "fcntup", "frame", "framecounter", "framecount", "packet", "snr", "packetid", "msgid",
    "messageid", "indexlevel",
)  # fmt: skip
MINIMUM: tuple[str, ...] = (
    "min",
    "minimum",
    "minimal",
    "mini",
    "minimo",
    "minimale",
    "minima",
    "mn",
    "lowest",
    "kleinster",
)
MAXIMUM: tuple[str, ...] = (
    "max", "maximum", "maximal", "maxi", "maximo", "massimo", "maximale", "maxima", "massima", "mx", "maks",
    "maksimum", "highest", "groesster", "peak", "spitze",
)  # fmt: skip
MEAN: tuple[str, ...] = (
    "mean", "avg", "average", "mittel", "mittelwert", "mw", "moy", "moyenne", "moyen", "promedio", "media",
    "medio", "gem", "gemiddeld", "gemiddelde", "medel", "medelvarde", "middel", "srednia", "prumer",
    "atlag", "ortalama", "durchschnitt", "aver", "mittl", "prom", "gjennomsnitt", "snitt", "gennemsnit",
    "genomsnitt", "middelverdi", "middelvaerdi", "keskiarvo",
)  # fmt: skip
SPOT = ("spot", "inst", "instant", "momentan", "istwert", "actual", "aktuell", "instantane", "puntual")
TIME: tuple[str, ...] = (
    "time", "date", "datetime", "timestamp", "stamp", "zeit", "datum", "uhrzeit", "zeitstempel",
    "zeitpunkt", "heure", "horodatage", "hora", "fecha", "tiempo", "tijd", "tijdstip", "ora", "data",
    "orario", "jour", "temps", "tempo", "day", "clock", "when", "epoch", "unix", "utc", "elapsed", "serial",
    "t", "ts", "tid", "klokkeslaet", "klokkeslett", "dato", "godzina", "cas", "saat", "tarih", "idopont",
    "ido", "aika",
    "jam", "tanggal", "thoigian", "ngay", "gio", "waktu", "masa", "tarikh", "vreme", "vrijeme", "ura",
    "laikas", "datum", "muda",
    "datumtijd", "dateheure", "fechahora", "dataora", "sekunden", "seconds", "secondes", "segundos",
    "secondi", "tag", "seconden", "ms", "dia", "giorno", "dag", "wann", "gemessen",
)  # fmt: skip
NAME = (
    "channel", "kanal", "tag", "sensor", "point", "messstelle", "voie", "canal", "canale", "variable",
    "signal", "parameter", "name", "series", "messgroesse", "grandeur", "punto", "punt", "kanaal",
    "measure", "variabele", "groesse", "mesure", "parametre", "parametro", "medida", "grootheid",
    "grandezza", "quantity", "item", "capteur", "messpunkt", "meetpunt", "metric", "variabile",
    "bezeichnung", "libelle",
)  # fmt: skip
VALUE = (
    "value", "wert", "messwert", "valeur", "valor", "valore", "waarde", "reading", "val", "meetwaarde",
)  # fmt: skip
UNIT = ("unit", "units", "einheit", "unite", "unidad", "unita", "eenheid")
FLAG = (
    "flag", "status", "quality", "qualitaet", "guete", "etat", "estado", "stato", "qualite", "calidad",
    "qualita", "kwaliteit", "qc", "valid", "alarm", "alarme", "alarma", "allarme", "code", "qual", "flags",
    "gueltig", "validite", "state", "merker", "kennung", "bemerkung", "remark", "note", "comment",
    "remarque",
)  # fmt: skip
FAULT = (
    "error", "errors", "err", "errorcode", "fault", "faults", "alarm", "alarms", "failure", "fehler",
    "fehlercode", "stoerung", "erreur", "defaut", "alarme", "error", "errores", "fallo", "falla", "averia",
    "errore", "guasto", "anomalia", "alarma", "allarme", "fout", "foutcode", "storing",
)  # fmt: skip
"""Headings of flags that are 0 where a sample is good."""
BESIDE_FLAG = (
    "code", "codes", "nr", "no", "number", "bit", "bits", "flag", "flags", "data", "daten", "dati", "datos",
    "donnees", "sample", "value", "wert", "messwert", "valeur", "valor", "valore", "logger", "device",
    "geraet", "sensor", "sensors", "capteur", "d", "de", "di", "of", "the", "system", "reading",
    "measurement", "messung", "mesure", "is", "qc",
)  # fmt: skip
"""Words beside those of a flag that name no other thing than the sample and what measured it."""
VALID = ("valid", "gueltig", "validite", "valido", "valida", "geldig", "good", "ok")
"""Headings of flags that are 1 where a sample is good."""
CLOSED_WORDS = (
    "closed", "shut", "zu", "geschlossen", "ferme", "fermee", "cerrado", "cerrada", "chiuso", "chiusa",
    "dicht", "gesloten", "close", "tripped", "true", "on", "1", "ja", "yes", "oui", "si",
)  # fmt: skip
OPEN_WORDS = (
    "open", "auf", "offen", "ouvert", "ouverte", "abierto", "abierta", "aperto", "aperta", "opened",
    "false", "off", "0", "nein", "no", "non", "nee", "normal",
)  # fmt: skip
START = (
    "start", "begin", "beginn", "debut", "inicio", "inizio", "first", "erster", "anfang", "premier",
    "startzeit", "depart", "aanvang", "eerste", "started", "from", "von", "comienzo",
)  # fmt: skip
INTERVAL = (
    "interval", "intervall", "intervalle", "intervalo", "intervallo", "period", "rate", "takt", "pas",
    "periode", "schritt", "paso", "passo", "step", "abtast", "sampling", "logging", "cadence", "messtakt",
    "spacing", "raster", "tijdstap",
)  # fmt: skip

# Of more languages in Latin letters: South Slavic, Baltic, Hungarian, Finnish, Romanian, Catalan, Icelandic,
# Vietnamese, Indonesian.
OF_PRESSURE += (
    "presiune", "rohk", "slegi", "spiedien", "tekanan", "apluc", "apsuat", "pressio", "rystingur",
)  # fmt: skip
INLET += (
    "ulaz", "ulazu", "ulazni", "vhod", "vstopni", "vtok", "sisend", "pries", "iejim", "ieeja",
    "ieplude", "hulu", "belepo", "befolyo", "tulo", "tuleva", "dauvao", "thuongluu", "truocvan",
    "inngangur",
)  # fmt: skip
OUTLET += (
    "izlaz", "izlazu", "izlazni", "izhod", "izstopni", "iztok", "vaeljund", "isejim", "izeja", "izplude",
    "hilir", "kilepo", "kifolyo", "laehtoe", "laehtevae", "daura", "haluu", "sauvan", "utgangur",
)  # fmt: skip
FLOW += (
    "protok", "pretok", "prietok", "vooluhulk", "plusma", "caurpludums", "srautas", "virtaus",
    "luuluong", "aliran", "atfolyas", "vizhozam", "cabal", "rennsli", "natezenie", "strumien",
)  # fmt: skip
TEMPERATURE += (
    "teplota", "laempoetila", "homerseklet", "nhietdo", "sicaklik", "suhu", "hitastig", "temperatuur",
)  # fmt: skip
BATTERY += (
    "baterij", "akumulator", "paristo", "napeti", "napiecie", "napetost", "akkufeszultseg",
)  # fmt: skip
LEVEL += (
    "razina", "nivo", "hladina", "poziom", "szint", "pinnankorkeus", "mucnuoc",
)  # fmt: skip
INDEX += (
    "stanje", "vodomer", "vodomjer", "licznik", "mittarilukema", "szamlalo", "chiso", "skaitiklis",
)  # fmt: skip
TIME += (
    "vrijeme", "vreme", "ngay", "gio", "thoigian", "waktu", "tanggal", "zaman", "laikas", "laiks",
    "kuupaev", "aikaleima", "timp", "dagsetning", "timi", "aeg", "datumas", "datums",
)  # fmt: skip
MEAN += (
    "prosjek", "povprecje", "prosek", "vidurkis", "keskiarvo", "rata", "medie", "videja", "srednja",
    "srednji",
)  # fmt: skip
MINIMUM += (
    "minimalni", "minimalno", "minimalny", "minimalne", "pienin", "legkisebb",
)  # fmt: skip
MAXIMUM += (
    "maksimum", "maksimalni", "maks", "suurin", "legnagyobb", "maksimalne", "maksimalny",
)  # fmt: skip
