"""What fits: in place of a part, and into a unit model."""

from __future__ import annotations

from inventory.api.record_schemas import response_schema
from inventory.domain.catalogue.unit_model_parts import ModelPart
from inventory.domain.movements.substitute_records import (
    FittedSubstituteRecord,
    PastUse,
    SubstituteSuggestions,
    SuggestedSubstitute,
    TakeableBin,
)

StockPlaceOut = response_schema(TakeableBin, name="StockPlaceOut")
SubstituteRecordOut = response_schema(PastUse, name="SubstituteRecordOut")
SubstituteOptionOut = response_schema(SuggestedSubstitute, name="SubstituteOptionOut")
SubstituteOptionsOut = response_schema(SubstituteSuggestions, name="SubstituteOptionsOut")
JobSubstituteOut = response_schema(FittedSubstituteRecord, name="JobSubstituteOut")
ModelPartOut = response_schema(ModelPart)
