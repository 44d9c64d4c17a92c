"""Raw inputs of a record with their standard uncertainties, and what each does. Layer: engine.record.

Readings of the instruments are no source here: their errors show in the scatter about the fit, which ``budget`` adds.
"""

from engine.record.part_sources import incline_sources, item_sources
from engine.record.source import Source
from engine.record.survey_sources import AnyChain, survey_sources


def sources(chain: AnyChain) -> tuple[Source, ...]:
    """Return every raw input of the record."""
    return (
        *survey_sources(chain),
        *incline_sources(chain.record, chain.plateaus, chain.inclined.tangents),
        *item_sources(chain.record),
    )
