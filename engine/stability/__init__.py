"""Criteria, limits of VCG, loading conditions and the margins of a verdict."""

from engine.stability.arms import Arms
from engine.stability.condition import Assessed, LoadingCondition, NotAssessed, ShipData, assess_conditions
from engine.stability.criteria import Criterion, judge
from engine.stability.data import StabilityData
from engine.stability.free_surface import TankLoad
from engine.stability.load_list import Load
from engine.stability.ship import Ship
from engine.stability.vcg_limit import VcgLimit, vcg_limit_table
from engine.stability.verdict import Certainty, statement
from engine.stability.weather import Weather
from engine.stability.wind import WindProfile

__all__ = [
    "Arms",
    "Assessed",
    "Certainty",
    "Criterion",
    "Load",
    "LoadingCondition",
    "NotAssessed",
    "Ship",
    "ShipData",
    "StabilityData",
    "TankLoad",
    "VcgLimit",
    "Weather",
    "WindProfile",
    "assess_conditions",
    "judge",
    "statement",
    "vcg_limit_table",
]
