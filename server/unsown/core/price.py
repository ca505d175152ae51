"""What a hectare costs when it is left bare, and when it is sown twice (job paper 2 and 3.14)."""

from __future__ import annotations

from dataclasses import dataclass

#: Field efficiency of a sowing machine where none was measured: the usual planning figure.
EFFICIENCY = 0.70


@dataclass(frozen=True)
class Prices:
    """A farm's own figures, in its own currency: a hectare, a kilogram, a litre, an hour, a tonne.

    ``tractor_h`` is tractor and driver without fuel.
    """

    seed_kg_ha: float
    seed_price_kg: float
    fert_kg_ha: float
    fert_price_kg: float
    fuel_l_ha: float
    fuel_price_l: float
    tractor_h: float
    yield_t_ha: float
    grain_price_t: float
    weed_penalty_ha: float

    @property
    def seed_and_fertiliser_ha(self) -> float:
        """Seed and fertiliser on one hectare."""
        return self.seed_kg_ha * self.seed_price_kg + self.fert_kg_ha * self.fert_price_kg

    def bare_ha(self) -> float:
        """Lost by a hectare left bare: its crop and its weeds, less what was not spent on it."""
        return (
            self.yield_t_ha * self.grain_price_t
            - self.seed_and_fertiliser_ha
            + self.weed_penalty_ha
        )

    def twice_ha(self, ha_per_h: float) -> float:
        """Spent on a hectare sown again at ``ha_per_h`` hectares an hour, stops included."""
        fuel = self.fuel_l_ha * self.fuel_price_l
        return self.seed_and_fertiliser_ha + fuel + self.tractor_h / ha_per_h


#: An invented farm's, in its own currency (job paper 7): stands in for what a farm has not set, and
#: is always told as an example.
EXAMPLE = Prices(
    seed_kg_ha=118.0,
    seed_price_kg=0.46,
    fert_kg_ha=105.0,
    fert_price_kg=0.88,
    fuel_l_ha=5.2,
    fuel_price_l=1.35,
    tractor_h=58.0,
    yield_t_ha=2.4,
    grain_price_t=330.0,
    weed_penalty_ha=150.0,
)
#: Of the same farm: folding, the road to the yard and back, and unfolding, minutes.
EXAMPLE_TRIP_MIN = 56.0


def capacity_ha_per_h(speed_m_s: float, width_m: float, efficiency: float = EFFICIENCY) -> float:
    """Effective field capacity, ha/h: width x speed x efficiency (ASABE EP496)."""
    return speed_m_s * 3600 * width_m * efficiency / 1e4
