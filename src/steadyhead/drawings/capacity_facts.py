"""The words of a capacity map: borders, design points and their margins, one sentence for the whole."""

from __future__ import annotations

from dataclasses import dataclass

from steadyhead.drawings.figures import Figures
from steadyhead.drawings.words import words_of
from steadyhead.records.capacity import Border, DesignPoint
from steadyhead.records.pictures import CapacityPicture
from steadyhead.units import UnitSet, paired


@dataclass(frozen=True, slots=True)
class CapacityFacts:
    """A picture with its figures and words."""

    picture: CapacityPicture
    figures: Figures
    words: dict[str, str]

    def axis_words(self) -> str:
        """Return what the inlet scale is."""
        axis = self.words["axis"].format(
            unit=self.figures.pressure_unit,
            datum=self.figures.length(self.picture.datum_m),
            length_unit=self.figures.length_unit,
        )
        return self.words["capacity axis"].format(axis=axis)

    def border(self, border: Border) -> str:
        """Return the name of a border."""
        if border.kind.startswith("low flow"):
            return self.words["low flow"]
        helped_by = self.picture.shown.helped_by
        if border.kind == "wide open" and helped_by:
            return self.words["wide open, helped"].format(others=", ".join(helped_by))
        limit = border.words
        if border.kind.startswith("too fast") and border.limit is not None:
            limit = f"{self.figures.velocity(border.limit)} {self.figures.velocity_unit} in the bore"
        return self.words[border.kind].format(limit=limit)

    def holds(self) -> str:
        """Return what the reducer holds."""
        duty, figures = self.picture.shown.duty, self.figures
        beside = f" ({figures.beside(duty)})" if figures.beside(duty) else ""
        return self.words["holds"].format(duty=figures.pressure(duty), unit=figures.pressure_unit + beside)

    def case(self, point: DesignPoint) -> str:
        """Return a case as the head of its margins."""
        return self.words["case"].format(flow=point.flow_case.capitalize(), inlet=point.inlet_case)

    def zone(self, point: DesignPoint) -> str:
        """Return in words what the reducer does at a design point."""
        return self.words[f"zone {point.zone}"]

    def place(self, point: DesignPoint, *, both: bool = False) -> str:
        """Return flow and inlet pressure of a point with their units; where there is room, in both."""

        def told(units: UnitSet) -> str:
            figures = Figures(units)
            flow = f"{figures.flow(point.flow)} {figures.flow_unit}"
            return f"{flow}, {figures.pressure(point.inlet)} {figures.pressure_unit}"

        return paired(told, self.picture.units) if both else told(self.picture.units)

    def margins(self, point: DesignPoint) -> tuple[str, ...]:
        """Return the margins of a point, one line each."""
        words, figures = self.words, self.figures
        lines = [self._to_spare(point), self._index(point)]
        lines.append(self._gravel(point))
        speed, limit = figures.velocity(point.velocity), figures.velocity(point.velocity_limit)
        lines.append(words["velocity"].format(speed=speed, limit=limit, unit=figures.velocity_unit))
        if point.low_flow:
            lines.append(words[point.low_flow])
            if point.quiet is not None:
                lines.append(self._quiet(point.quiet))
        return tuple(lines)

    def _quiet(self, quiet: tuple[float, float, float]) -> str:
        low, high = self.figures.flow(quiet[0]), self.figures.flow(quiet[2])
        form = self.words["quiet alike" if low == high else "quiet"]
        return form.format(low=low, high=high, unit=self.figures.flow_unit)

    def notes(self) -> tuple[str, ...]:
        """Return what the map cannot say and what its loop check is swept over, in sentences."""
        shown = self.picture.shown
        if shown.sweep is None:
            return shown.not_known
        sweep = shown.sweep
        bands = [self.figures.pressure(band) for band in sweep.bands]
        lags = [self.figures.seconds(lag) for lag in sweep.lags]
        told = self.words["sweep"].format(
            bands=self._range(bands, self.figures.pressure_unit),
            lags=self._range(lags, "s"),
            band_source=sweep.band_source,
            lag_source=sweep.lag_source,
        )
        return (*shown.not_known, told)

    def _range(self, ends: list[str], unit: str) -> str:
        form = self.words["one" if ends[0] == ends[-1] else "range"]
        return form.format(low=ends[0], high=ends[-1], unit=unit)

    def _to_spare(self, point: DesignPoint) -> str:
        words, travel = self.words, self.words["travel"].format(travel=self.figures.share(point.travel))
        if point.to_spare is None:
            return f"{words['no edge']}, {travel}"
        size, unit = self.figures.difference(abs(point.to_spare)), self.figures.pressure_unit
        if point.to_spare < 0.0:
            form = words["short of, helped" if point.helped_by else "short of"]
            return form.format(size=size, unit=unit, others=", ".join(point.helped_by))
        return f"{words['to spare'].format(size=size, unit=unit)}, {travel}"

    def _index(self, point: DesignPoint) -> str:
        if point.sigma_1 is None:
            return self.words["no difference"]
        sigma = self.figures.ratio(point.sigma_1)
        if point.next_degree is None or point.next_limit is None:
            return self.words["index"].format(sigma=sigma)
        limit = self.figures.ratio(point.next_limit)
        degree = self.words[f"next {point.next_degree}"]
        return self.words["index next"].format(sigma=sigma, degree=degree, limit=limit)

    def _gravel(self, point: DesignPoint) -> str:
        if point.gravel == "not expected" and point.gravel_from is not None:
            inlet, unit = self.figures.pressure(point.gravel_from), self.figures.pressure_unit
            return self.words["gravel from"].format(inlet=inlet, unit=unit)
        return self.words[f"gravel {point.gravel}"]


def resolve_capacity(picture: CapacityPicture, lang: str = "en") -> CapacityFacts:
    """Return the picture with the figures and words of its reader."""
    return CapacityFacts(picture, Figures(picture.units), words_of(lang))


def capacity_text(picture: CapacityPicture, lang: str = "en") -> str:
    """Return the sentence of a capacity map."""
    facts = resolve_capacity(picture, lang)
    words, shown = facts.words, picture.shown
    head = f"{words['capacity']}, {picture.name}, "
    head += words["capacity of"].format(reducer=shown.reducer, place=shown.place)
    head += f", {picture.moment}" if picture.moment else ""
    said = [
        f"{facts.case(point)}: {facts.place(point, both=True)}, {facts.zone(point)}, "
        + ", ".join(facts.margins(point))
        for point in shown.points
    ]
    return f"{head}: {'; '.join([facts.holds(), *said])}."


def capacity_notes(picture: CapacityPicture, lang: str = "en") -> tuple[str, ...]:
    """Return what a capacity map cannot say, in sentences for the paper below it."""
    return resolve_capacity(picture, lang).notes()
