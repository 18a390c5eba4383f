"""The shapes that the handbook's figures take once loaded."""

from __future__ import annotations

from dataclasses import dataclass, field

KINDS = ("published", "common practice", "from memory")
REGIONS = (
    "british-isles",
    "central-europe",
    "france-south-europe",
    "scandinavia",
    "north-america-north",
    "north-america-south",
)
UNITS = ("1", "count", "kg", "kg/dm2", "kg/month", "dm2", "l", "l/d", "d", "degC", "kg/m3", "lb", "US quart")
SIGNED_UNITS = ("1", "degC")
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
SHORT_MONTHS = tuple(month.capitalize() for month in MONTHS)
"""As people write them."""
DATES = ("winter_starts", "last_liquid_day", "fondant_reaches", "feed_reaches", "flow")


@dataclass(frozen=True, slots=True)
class Figure:
    """One number with its unit, its plausible range and where it comes from.

    >>> Figure(5.0, "kg", 4.0, 10.0, "Pembrokeshire Beekeepers, 2013", "published").value
    5.0
    """

    value: float
    unit: str
    low: float
    high: float
    source: str
    kind: str


@dataclass(frozen=True, slots=True)
class Months:
    """Twelve figures, January to December; `low` and `high` are factors on all of them.

    `source` and `kind` speak for most months, `sources` and `kinds` for each one.

    >>> months = Months((0.5,) * 12, "kg/month", "a log", "published", 0.6, 1.4, ("a log",) * 12, ("published",) * 12)
    >>> months.of(10)
    0.5
    """

    values: tuple[float, ...]
    unit: str
    source: str
    kind: str
    low: float
    high: float
    sources: tuple[str, ...]
    kinds: tuple[str, ...]

    def of(self, month: int) -> float:
        """Value of a month, 1 for January to 12 for December."""
        return self.values[month - 1]


@dataclass(frozen=True, slots=True)
class MonthDay:
    """A day that comes back every year.

    >>> MonthDay(9, 30, "Norfolk Beekeepers Association", "published").day
    30
    """

    month: int
    day: int
    source: str
    kind: str


@dataclass(frozen=True, slots=True)
class Frame:
    """A frame; `comb_side` is one side of one comb in dm2, `full_comb` the ripe stores of a full comb in kg."""

    name: str
    comb_side: Figure
    full_comb: Figure


@dataclass(frozen=True, slots=True)
class HiveType:
    """A hive as set up for winter.

    `frame` is the frame of its brood box; `comb_side` (dm2, one side) and `full_comb` (kg) are means over all its
    frames. `tare` and `tare_spread` (standard uncertainty), `bees` (October), `pollen` and `want` are in kg,
    `pollen_frames` counts frames, `portion_liquid` and `feeder_holds` are in litres, `portion_fondant` in kg.
    `regions` are those whose blank book lists the type; `in_pounds` holds portions and feeder in the round figures of a
    book in pounds, lb and US quarts.
    """

    name: str
    frame: str
    frames: Figure
    boxes: Figure
    material: str
    comb: str
    comb_side: Figure
    full_comb: Figure
    tare: Figure
    tare_spread: Figure
    bees: Figure
    pollen: Figure
    pollen_frames: Figure
    want: Figure
    portion_liquid: Figure
    portion_fondant: Figure
    feeder_holds: Figure
    regions: tuple[str, ...]
    want_by_region: dict[str, Figure]
    in_pounds: dict[str, Figure] = field(default_factory=dict)

    @property
    def comb_full(self) -> float:
        """Stores in kg that the combs hold at most, one frame being kept for the cluster and some for pollen.

        >>> from apiarybook.handbook import handbook
        >>> round(handbook().hive_types["National single"].comb_full, 1)
        21.2
        """
        return self.full_comb.value * (self.frames.value - self.pollen_frames.value - 1.0)

    def want_in(self, region: str) -> Figure:
        """Stores wanted on the day winter starts in that region, else the type's own figure (kg).

        >>> from apiarybook.handbook import handbook
        >>> handbook().hive_types["Dadant 10"].want_in("france-south-europe").value
        15.0
        """
        return self.want_by_region.get(region, self.want)


@dataclass(frozen=True, slots=True)
class Feed:
    """A feed; `solids` and `eta` (share of its solids that ends up in the comb) are fractions.

    `form` is liquid, solid, comb (a frame of food) or none (gives no stores). `pack` (kg) is a pack as bought: of the
    feed itself, or of white sugar where `mixed` says that the club or the member mixes it; `in_pounds` holds it as
    sold where books are in pounds. `autumn_in` are the regions whose blank book names it as the feed of the autumn.
    """

    name: str
    form: str
    mixed: bool
    solids: Figure
    eta: Figure
    pack: Figure
    autumn_in: tuple[str, ...] = ()
    in_pounds: dict[str, Figure] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Extra:
    """A thing that stands on or in a hive and is not tare (kg)."""

    name: str
    mass: Figure


@dataclass(frozen=True, slots=True)
class Profile:
    """A winter: what a colony of 2.0 kg of bees eats (kg/month), how bees and brood change, and its dates.

    `bees` are factors on the October figure, `brood` counts frames of British Standard deep size.
    """

    name: str
    title: str
    consumption: Months
    bees: Months
    brood: Months
    dates: dict[str, MonthDay]


@dataclass(frozen=True, slots=True)
class Method:
    """A way of weighing: gross = multiplier x mass, with a relative and a handling uncertainty (kg)."""

    name: str
    scale_kind: str
    multiplier: Figure
    multiplier_u: Figure
    handling_u: Figure
    coarse: bool


@dataclass(frozen=True, slots=True)
class ScaleKind:
    """A kind of scale with its usual division (kg) and half-width (fraction of the reading)."""

    name: str
    division: Figure
    half_width: Figure


@dataclass(frozen=True, slots=True)
class Cause:
    """What may lie behind a gain or loss that no row of the book explains.

    `way` is gain, loss or either; `after` says whether the next weighing still shows it (stays), no longer does (goes)
    or may do either. `weight` counts beside other causes; `least` and `most` bound its mass in kg, `starts` and `ends`
    its season.
    """

    name: str
    way: str
    after: str
    weight: Figure
    least: Figure
    most: Figure
    starts: MonthDay
    ends: MonthDay


@dataclass(frozen=True, slots=True)
class DensityTable:
    """Density of sucrose syrup in kg/m3 at 20 degC by its solids (fraction)."""

    solids: tuple[float, ...]
    density: tuple[float, ...]
    source: str
    kind: str


@dataclass(frozen=True, slots=True)
class SaturationTable:
    """Solids (fraction) of saturated sucrose syrup by temperature in degC."""

    temperature: tuple[float, ...]
    solids: tuple[float, ...]
    source: str
    kind: str


@dataclass(frozen=True, slots=True)
class Handbook:
    """All figures, by name, in the order of their files."""

    frames: dict[str, Frame]
    hive_types: dict[str, HiveType]
    feeds: dict[str, Feed]
    extras: dict[str, Extra]
    profiles: dict[str, Profile]
    methods: dict[str, Method]
    scale_kinds: dict[str, ScaleKind]
    model: dict[str, Figure]
    days: dict[str, MonthDay]
    causes: dict[str, Cause]
    judging: dict[str, Figure]
    syrup_density: DensityTable
    saturation: SaturationTable

    def __getitem__(self, name: str) -> Figure:
        """Figure of the model by its name."""
        return self.model[name]

    def hive_types_of(self, region: str) -> tuple[HiveType, ...]:
        """Hive types that a region's blank book lists.

        >>> from apiarybook.handbook import handbook
        >>> handbook().hive_types_of("scandinavia")[0].name
        'Langstroth single deep'
        """
        return tuple(hive for hive in self.hive_types.values() if region in hive.regions)

    def autumn_feed_of(self, region: str) -> str:
        """The liquid feed that a region's blank book names for the autumn.

        >>> from apiarybook.handbook import handbook
        >>> handbook().autumn_feed_of("central-europe")
        'Syrup 3 to 2'
        """
        return next(feed.name for feed in self.feeds.values() if region in feed.autumn_in)
