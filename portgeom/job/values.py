"""What does a job hold, once read and checked? Millimetres, degrees and g/cc throughout."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Literal, TypeAlias

from portgeom.geometry.arrays import F64
from portgeom.geometry.outline import Outline
from portgeom.job.flow_values import AirGiven, Engine, FlowReading
from portgeom.job.match_values import FaceMatch, Milling
from portgeom.job.propose_values import Wishes
from portgeom.job.quote_values import Quote
from portgeom.job.receipt_values import Opened, Receipt
from portgeom.job.shape_readings import ShapeReadings
from portgeom.job.stage_values import Pour
from portgeom.job.valve_values import Chamber, Seat, ValveGuide, ValveLimits

Units: TypeAlias = Literal["mm", "in"]
PortKind: TypeAlias = Literal["intake", "exhaust"]
PlaceName: TypeAlias = Literal["", "face", "pinch", "turn", "bowl", "throat", "seat"]
LineKind: TypeAlias = Literal["roof_line", "roof_from_deck", "roof_raise"]
HazardShape: TypeAlias = Literal["cylinder", "plane", "mesh", "readings"]
PassKind: TypeAlias = Literal["grooves", "level", "blend"]
Side: TypeAlias = Literal["roof", "floor", "left", "right"]


@dataclass(frozen=True, slots=True)
class Note:
    """Something the reader did or assumed, told to the person. ``row`` is 1-based, None for a whole file.

    Also the form of a fault: what was found, and what to do about it.
    """

    file: str
    row: int | None
    field: str
    found: str
    mend: str


@dataclass(frozen=True, slots=True)
class Limits:
    """What counts as a neck, a steep growth, a bulge, an overcut, and how long the bridging straightedge is."""

    neck_percent: float = 1.0
    cone_angle_deg: float = 10.0
    bulge_mm: float = 0.5
    straightedge_mm: float = 40.0
    overcut_mm: float = 0.2


@dataclass(frozen=True, slots=True)
class StationRow:
    """One measured section.

    Attributes
    ----------
    station : str
        Its name in the table.
    row : int
        Row in the file, 1 being the header.
    distance_mm : float or None
        Along the path from the manifold face; None only where the table gives places instead.
    pitch_deg, yaw_deg, roll_deg : float or None
        Direction of the flow; None where the cell or the column was left out.
    place_mm : (3,) float or None
        Where the path is, in the head frame, if the table says so.
    place : PlaceName
        The named place in the port, or "".
    outline : Outline
        The section itself, in (u, v) about the path.
    readings : ShapeReadings or None
        The gauge readings that made the outline; None where it was drawn or traced.
    sd_mm : float or None
        The standard deviation of this row's own readings, where the table says it.
    """

    station: str
    row: int
    distance_mm: float | None
    pitch_deg: float | None
    yaw_deg: float | None
    roll_deg: float | None
    place_mm: F64 | None
    place: PlaceName
    outline: Outline
    readings: ShapeReadings | None = None
    sd_mm: float | None = None


@dataclass(frozen=True, slots=True)
class SectionTable:
    """A table of measured sections, in path order."""

    file: str
    rows: tuple[StationRow, ...]


@dataclass(frozen=True, slots=True)
class Stage:
    """One measuring of a port: as cast, roughed, finished.

    Attributes
    ----------
    poured_cc : float or None
        Volume by pouring; ``pour`` says how it was poured.
    after : str
        The last pass of the plan that was cut before this measuring, or "".
    minutes : float or None
        Cutting time since the stage before.
    """

    name: str
    sections: SectionTable
    poured_cc: float | None = None
    pour: Pour | None = None
    after: str = ""
    minutes: float | None = None


@dataclass(frozen=True, slots=True)
class Guide:
    """The valve guide's boss in the port: from where its axis leaves the roof, along the axis.

    ``axis_mm`` (2, 3): the point where the axis leaves the roof and a second point nearer the valve, in
    the head frame. ``length_mm`` is how far the boss stands into the port from the first point.
    """

    axis_mm: F64
    boss_diameter_mm: float
    length_mm: float


@dataclass(frozen=True, slots=True)
class Schedule:
    """The user's own wanted areas: rows of distance (mm) and area (mm2), or of place names and areas.

    Exactly one of the two is filled.
    """

    by_distance: tuple[tuple[float, float], ...] = ()
    by_place: tuple[tuple[PlaceName, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Port:
    """One port and its measured stages, in the order measured."""

    name: str
    kind: PortKind
    stages: tuple[Stage, ...]
    target: str | None = None
    position_mm: F64 | None = None
    mirrored: bool = False
    left_wall: str = "left wall"
    right_wall: str = "right wall"
    throat_mm: float | None = None
    roof_end_mm: float | None = None
    schedule: Schedule | None = None
    guide: Guide | None = None
    match: FaceMatch | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """A height or width against distance: (n, 2) rows of distance and value, distances rising."""

    rows: F64


@dataclass(frozen=True, slots=True)
class Copy:
    """A finished port taken as the pattern."""

    port: str
    stage: str


@dataclass(frozen=True, slots=True)
class Target:
    """The port wanted.

    Exactly one way of saying it: lines (any of roof, floor, widen, throat), ``sections``, or ``copy_of``.

    Attributes
    ----------
    roof : Line or None
        The roof line; ``roof_kind`` says what its values are: height above the path ("roof_line"),
        z in the head frame ("roof_from_deck"), or rise over as cast ("roof_raise").
    roof_straight : bool
        Between its points the roof line is straight in space instead of following the path.
    corner_radius : Line or None
        (n, 2) rows of distance and radius; one row where the job gave a single number.
    widen : (n, 3) float or None
        Rows of distance, left, right.
    floor_line : Line or None
        Height of the wanted floor relative to the path (usually negative), against distance.
    """

    name: str
    roof: Line | None = None
    roof_kind: LineKind = "roof_line"
    roof_straight: bool = False
    corner_radius: Line | None = None
    widen: F64 | None = None
    floor_line: Line | None = None
    throat_diameter_mm: float | None = None
    sections: SectionTable | None = None
    copy_of: Copy | None = None


@dataclass(frozen=True, slots=True)
class WallReading:
    """One thickness reading: distance along the path, clock position, metal measured behind the wall."""

    distance_mm: float
    clock_deg: float
    wall_mm: float


@dataclass(frozen=True, slots=True)
class Hazard:
    """Something behind a wall, in the head frame.

    ``start_mm``/``end_mm``/``diameter_mm`` for a cylinder, ``point_mm``/``normal_mm`` for a plane,
    ``file`` for a mesh or a table of readings (``readings`` holds the rows, ``port`` the port they were
    taken in). ``ports`` empty means every port.
    """

    name: str
    shape: HazardShape
    ports: tuple[str, ...] = ()
    start_mm: F64 | None = None
    end_mm: F64 | None = None
    diameter_mm: float | None = None
    point_mm: F64 | None = None
    normal: F64 | None = None
    file: str | None = None
    readings: tuple[WallReading, ...] = ()
    min_wall_mm: float | None = None
    casting_tolerance_mm: float = 0.0
    drill_point: bool = False
    thread_to_mm: float | None = None
    open_allowed: bool = False


@dataclass(frozen=True, slots=True)
class Cutter:
    """A rotary cutter: shape by ISO 7755, its sizes, and what the user has measured of it."""

    name: str
    shape: str
    diameter_mm: float
    length_mm: float
    shank_mm: float
    reach_mm: float
    rate_cc_per_min: float | None = None
    vibration_m_s2: float | None = None


@dataclass(frozen=True, slots=True)
class CutPass:
    """One pass of the plan, as given; None where the tool is to choose."""

    name: str
    kind: PassKind
    side: Side
    cutter: str
    rows: int | None = None
    across_mm: tuple[float, ...] = ()
    from_mm: float | None = None
    to_mm: float | None = None
    depth_mm: float | None = None
    leave_mm: float | None = None
    overshoot_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Valve:
    """The valve that goes in.

    Attributes
    ----------
    head_back_cc : float or None
        Volume of the back of the head, from the seat's inner edge to the stem.
    back_angle_deg : float or None
        How far the back of the head leans from a plane square to the stem.
    seat_width_mm : float
        Radial: how much wider the seat is outside than inside, halved.
    lifts_mm, larger_heads_mm : tuple of float
        Lifts to tell its opening at, and head diameters to hold against it; empty where the job has none.
    """

    kind: PortKind
    head_diameter_mm: float
    throat_diameter_mm: float
    stem_diameter_mm: float
    seat_angle_deg: float
    seat_width_mm: float
    head_back_cc: float | None = None
    back_angle_deg: float | None = None
    lifts_mm: tuple[float, ...] = ()
    larger_heads_mm: tuple[float, ...] = ()
    seat: Seat | None = None
    guide: ValveGuide | None = None
    limits: ValveLimits = field(default_factory=ValveLimits)


@dataclass(frozen=True, slots=True)
class Accuracy:
    """Standard deviations of readings; ``given`` are those that the job says itself, the rest are usual ones."""

    gauge_mm: float = 0.15
    tool_bias_mm: float = 0.08
    trace_mm: float = 0.20
    distance_mm: float = 0.50
    pitch_deg: float = 3.0
    pour_cc: float = 0.5
    given: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Job:
    """A whole job folder."""

    folder: FilePath
    title: str
    units: Units
    material: str
    density_g_cc: float
    ports: tuple[Port, ...]
    targets: tuple[Target, ...] = ()
    hazards: tuple[Hazard, ...] = ()
    cutters: tuple[Cutter, ...] = ()
    passes: tuple[CutPass, ...] = ()
    valves: tuple[Valve, ...] = ()
    flow: tuple[FlowReading, ...] = ()
    air: AirGiven | None = None
    engine: Engine | None = None
    min_wall_mm: float | None = None
    respect_walls: bool = False
    limits: Limits = field(default_factory=Limits)
    accuracy: Accuracy = field(default_factory=Accuracy)
    receipt: Receipt | None = None
    opened: tuple[Opened, ...] = ()
    milling: Milling | None = None
    chamber: Chamber | None = None
    quote: Quote | None = None
    propose: Wishes = field(default_factory=Wishes)
    notes: tuple[Note, ...] = ()
