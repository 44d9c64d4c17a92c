"""What a plan is made from. Layer: engine.planning."""

from dataclasses import dataclass, field

from engine.planning.deck import Deck, Stock
from engine.planning.depth import MARGIN_M
from engine.planning.instruments import Needs, Place
from engine.planning.other_means import People
from engine.planning.predicted import PlannedShip
from engine.planning.weights import HeelRange


@dataclass(frozen=True, eq=False)
class Outline:
    """What a plan is made from.

    Attributes
    ----------
    ship : PlannedShip
        Before the weights come aboard.
    stock : tuple of Stock
        Weights on hand.
    deck : Deck
        Where they can go.
    places : tuple of Place
        Where instruments can be.
    heel : HeelRange
        Limits; its ``wanted_deg`` counts only with ``heel_is_asked``.
    heel_is_asked : bool
        False: aim at the practice's heel, or more where the instruments need it.
    needs : Needs
        Of the instruments.
    station_count : int
        Freeboards a side.
    deck_edge_m : tuple of points
        Port deck edge.
    depth_margin_m : float
        Clear water kept.
    projections_m : tuple of points
        Points below the moulded hull.
    people : People or None
        Who could walk across.
    """

    ship: PlannedShip
    stock: tuple[Stock, ...] = ()
    deck: Deck = field(default_factory=lambda: Deck(()))
    places: tuple[Place, ...] = ()
    heel: HeelRange = field(default_factory=HeelRange)
    heel_is_asked: bool = False
    needs: Needs = field(default_factory=Needs)
    station_count: int = 5
    deck_edge_m: tuple[tuple[float, float, float], ...] = ()
    depth_margin_m: float = MARGIN_M
    projections_m: tuple[tuple[float, float, float], ...] = ()
    people: People | None = None
