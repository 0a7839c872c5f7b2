"""Where the airplane is: to the area's edge and floor, to a landing place within glide; or nowhere near the lesson."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airdata.angles import wrap_positive_rad
from airwork.airdata.wind import wind_triangle
from airwork.errors import AirworkError
from airwork.lesson.flight_plan import landing_fields
from airwork.lesson.glide import Field, best_place
from airwork.lesson.plan import Planned
from airwork.live.now import Item, Level, Moment, air_now, altitude_m
from airwork.units import from_unit

EDGE_AHEAD_S = 60.0
FLOOR_NEAR_M = from_unit(300.0, "ft")
CRUISE_AGL_M = from_unit(2000.0, "ft")  # where the range is worked out; it changes little with altitude


@dataclass
class Whereabouts:
    """Answers about the place of a moment; SI, on the map of the lesson's area."""

    plan: Planned
    _spot: tuple[float, tuple[float, float] | None] = (math.nan, None)

    def items(self, at: Moment) -> list[Item]:
        """Edge, floor and glide; in their place one line where the position can't be this lesson's."""
        stray = self.stray(at)
        if stray is not None:
            return [stray]
        glide = self.glide(at)
        return self.area(at) + ([] if glide is None else [glide])

    @cached_property
    def range_m(self) -> float:
        """Still-air distance that the fuel aboard at the start carries: from farther nobody has come. [m]"""
        plan, fuel = self.plan.planner, self.plan.briefing.fuel
        return (
            fuel.aboard_m3 / fuel.cruise_flow_m3ps * plan.cruise(plan.elevation_m + CRUISE_AGL_M, plan.mass_kg).tas_mps
        )

    def _away_m(self, at: Moment) -> float:
        """Distance from the lesson's field, on the map; NaN without a position."""
        spot = self._on_map(at)
        east, north = self.plan.planner.field_m
        return math.nan if spot is None else math.hypot(spot[0] - east, spot[1] - north)

    def stray(self, at: Moment) -> Item | None:
        """The position is farther from the lesson's field than its fuel carries: another flight's, or a fault."""
        away = self._away_m(at)
        if not away > self.range_m:
            return None
        style, name = self.plan.briefing.style, self.plan.lesson.place.name
        return Item("place", "position", f"{style.distance(away)} from {name}",
                    "farther than the fuel aboard carries: not this lesson's; no way home, area or glide worked out",
                    "look")  # fmt: skip

    def _on_map(self, at: Moment) -> tuple[float, float] | None:
        if self._spot[0] != at.now_s:
            latitude, longitude = at.value("latitude_rad"), at.value("longitude_rad")
            known = math.isfinite(latitude + longitude)
            self._spot = at.now_s, self.plan.flight.flat.east_north_m(latitude, longitude) if known else None
        return self._spot[1]

    def position(self, at: Moment) -> tuple[float, float] | None:
        """East and north on the map of the area; None where not known or not to be believed. [m]"""
        return None if self._away_m(at) > self.range_m else self._on_map(at)

    def area_m(self, at: Moment) -> tuple[float, float, float] | None:
        """(to the edge, to the edge a minute ahead on this track; negative outside, above the floor). [m]"""
        spot, area = self.position(at), self.plan.flight.area
        if spot is None or area is None:
            return None
        track, speed = at.value("track_rad"), at.value("groundspeed_mps")
        ahead = spot
        if math.isfinite(track + speed):
            gone = EDGE_AHEAD_S * speed
            ahead = spot[0] + gone * math.sin(track), spot[1] + gone * math.cos(track)
        edge = area.inside_m(np.array([spot[0], ahead[0]]), np.array([spot[1], ahead[1]]))
        return float(edge[0]), float(edge[1]), altitude_m(at) - self.floor(at)[0]

    def floor(self, at: Moment) -> tuple[float, str]:
        """(the higher of the area's floor and that of the exercise in hand or next, as briefed [m]; whose it is)."""
        area, run = self.plan.lesson.area, None if at.exercise is None else self.plan.flight.runs[at.exercise]
        floor_m = -math.inf if area is None else area.floor_m
        if run is not None and run.set_up is not None and run.set_up.floor_m > floor_m:
            return run.set_up.floor_m, f" ({run.set_up.floor_why})"
        return floor_m, ""

    def area(self, at: Moment) -> list[Item]:
        """Distance to the area's edge and floor."""
        found, area = self.area_m(at), self.plan.flight.area
        if found is None or area is None:
            return []
        edge, ahead, above = found
        style = self.plan.briefing.style
        side = "inside the area by" if edge >= 0.0 else "outside the area by"
        level: Level = "look" if edge < 0.0 or ahead < 0.0 else "plain"
        items = [Item("edge", side, style.distance(abs(edge)), area.wanted.name, level)]
        if math.isfinite(above):
            low: Level = "act" if above < 0.0 else "look" if above < FLOOR_NEAR_M else "plain"
            word = "above the floor" if above >= 0.0 else "below the floor"
            floor_m, whose = self.floor(at)
            where = f"floor {style.altitude(floor_m)}{whose}"
            items.append(Item("floor", word, style.altitude(abs(above)), where, low))
        return items

    def glide_place(self, at: Moment) -> tuple[str, float, float, float] | None:
        """(name, arrival height [m], heading to fly [rad, true], distance [m]) of the best landing place."""
        spot, here, places = self.position(at), altitude_m(at), self.fields
        if spot is None or not math.isfinite(here) or not places:
            return None
        air, airplane = air_now(self.plan, at), self.plan.airplane
        try:
            ratio, cas = (
                airplane.glide_ratio,
                airplane.speed_cas_mps("best_glide", self.plan.planner.mass_after(at.burned_m3)),
            )
        except AirworkError:
            return None
        pressure, kelvin = float(air.pressure_altitude_m(here)), float(air.temperature_at_k(here))
        tas = float(tas_from_cas_mps(cas, pressure, kelvin))
        spots = (np.array([spot[0]]), np.array([spot[1]]), np.array([here]))
        height, which = best_place(*spots, places, ratio, tas, air)
        place = places[int(which[0])]
        east, north = place.east_m - spot[0], place.north_m - spot[1]
        course = math.atan2(east, north)
        from_rad, speed = (float(x) for x in air.wind_at(here))
        heading = wind_triangle(course, tas, from_rad, speed).heading_rad
        return place.name, float(height[0]), float(wrap_positive_rad(heading)), math.hypot(east, north)

    @cached_property
    def fields(self) -> tuple[Field, ...]:
        """Landing places of the lesson and the field itself, on the map."""
        flat, lesson = self.plan.flight.flat, self.plan.lesson
        ground = lesson.area.ground_m if lesson.area else 0.0
        home = lesson.place
        here = Field(home.name, *flat.east_north_m(home.latitude_rad, home.longitude_rad), home.elevation_m or ground)
        return (*(landing_fields(lesson.area, flat) if lesson.area else ()), here)

    def glide(self, at: Moment) -> Item | None:
        """The nearest landing place within glide and the heading to it."""
        found = self.glide_place(at)
        if found is None:
            return None
        name, height, heading, distance = found
        style, variation = self.plan.briefing.style, self.plan.day.variation_rad
        shown = round(math.degrees(wrap_positive_rad(heading - (variation or 0.0)))) or 360
        north = "" if variation is not None else " true"
        if height < 0.0:
            return Item("glide", "glide", "no place", f"in reach; best: {name}, {style.distance(distance)}, "
                        f"short by {style.altitude(-height)}", "look")  # fmt: skip
        why = f"{style.distance(distance)}, arrives {style.altitude(height)} above it in this wind"
        return Item("glide", "glide", f"{name} {shown:03d}°{north}", f"{why}; best-glide speed, no maneuvering counted")
