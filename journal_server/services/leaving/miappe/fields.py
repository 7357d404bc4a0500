"""The fields of the check-list: where each comes from, or why it is missing. The tables follow from it."""

from __future__ import annotations

from dataclasses import dataclass

INVESTIGATION, STUDY, PERSON, DATA_FILE, MATERIAL, ENVIRONMENT, FACTOR, EVENT, UNIT, SAMPLE, VARIABLE = SECTIONS = (
    "Investigation", "Study", "Person", "Data file", "Biological material", "Environment", "Experimental factor",
    "Event", "Observation unit", "Sample", "Observed variable",
)  # fmt: skip
OBSERVATION = "Observation"
"""Not a section of the check-list, which asks for a data file and leaves its form open."""

FILES = {
    INVESTIGATION: "investigation.csv",
    STUDY: "study.csv",
    DATA_FILE: "data_file.csv",
    MATERIAL: "biological_material.csv",
    ENVIRONMENT: "environment.csv",
    FACTOR: "experimental_factor.csv",
    EVENT: "event.csv",
    UNIT: "observation_unit.csv",
    VARIABLE: "observed_variable.csv",
    OBSERVATION: "observation.csv",
}
"""The table of each section; Person and Sample have none."""


@dataclass(frozen=True)
class Mapped:
    """One field: a column of its section's table, or (``column`` false) left out for the reason in ``says``."""

    section: str
    name: str
    says: str
    column: bool = True
    of_the_list: bool = True
    """False for a column of the journal's own, which the check-list does not name."""


def _not(section: str, name: str, why: str) -> Mapped:
    return Mapped(section, name, why, column=False)


def _own(section: str, name: str, says: str) -> Mapped:
    return Mapped(section, name, says, of_the_list=False)


_STUDY_ID = "Study unique ID"
_UNIT_ID = "Observation unit ID"

MAPPED: tuple[Mapped, ...] = (
    Mapped(INVESTIGATION, "Investigation unique ID", "the journal's own id"),
    Mapped(INVESTIGATION, "Investigation title", "the titles of the trials"),
    _not(INVESTIGATION, "Investigation description", "not kept; the description of each trial is with its study"),
    Mapped(INVESTIGATION, "Submission date", "the day on which these tables were made"),
    _not(INVESTIGATION, "Public release date", "not kept"),
    _not(INVESTIGATION, "License", "not kept; whoever publishes the tables chooses one"),
    Mapped(INVESTIGATION, "MIAPPE version", "1.1"),
    _not(INVESTIGATION, "Associated publication", "not kept"),
    Mapped(STUDY, _STUDY_ID, "the trial's id"),
    Mapped(STUDY, "Study title", "the trial's title"),
    Mapped(STUDY, "Study description", "the trial's note"),
    Mapped(STUDY, "Start date of study", "the first day of planting"),
    Mapped(STUDY, "End date of study", "the last day of removal; empty while anything stands"),
    _not(STUDY, "Contact institution", "not kept"),
    _not(STUDY, "Geographic location (country)", "not kept"),
    Mapped(STUDY, "Experimental site name", "the trial's site, only where the place was asked for"),
    _not(STUDY, "Geographic location (latitude)", "not kept; photos may carry it, see the export of photos"),
    _not(STUDY, "Geographic location (longitude)", "not kept; photos may carry it"),
    _not(STUDY, "Geographic location (altitude)", "not kept"),
    Mapped(STUDY, "Description of the experimental design", "counted: plantings, cultivars, planters, repeats"),
    _not(STUDY, "Type of experimental design", "which plant stands where is the person's choice; no design is kept"),
    Mapped(STUDY, "Observation unit level hierarchy", "always study > planting"),
    Mapped(STUDY, "Observation unit description", "what a planting is"),
    _not(STUDY, "Description of growth facility", "not kept; planter and light are at each observation unit"),
    _not(STUDY, "Type of growth facility", "not kept"),
    Mapped(STUDY, "Cultural practices", "what was done how often; each time is in event.csv"),
    _not(STUDY, "Map of experimental design", "not kept; the order of walking is at each observation unit"),
    _own(STUDY, "year", "the trial's year"),
    _not(PERSON, "Person name, email, ID, role, affiliation", "left out: who took part is not for others to read"),
    Mapped(DATA_FILE, _STUDY_ID, "the trial's id"),
    Mapped(DATA_FILE, "Data file link", "the name of the file beside this one"),
    Mapped(DATA_FILE, "Data file description", "what stands in it"),
    Mapped(DATA_FILE, "Data file version", "the day on which it was made"),
    Mapped(MATERIAL, "Biological material ID", "the cultivar's id"),
    _not(MATERIAL, "Organism", "a taxon number of a public list; not kept, genus and species are"),
    Mapped(MATERIAL, "Genus", "as noted"),
    Mapped(MATERIAL, "Species", "as noted"),
    Mapped(MATERIAL, "Infraspecific name", "the cultivar name in single quotes"),
    _not(MATERIAL, "Biological material latitude, longitude, altitude", "where it was collected: cultivars are not"),
    _not(MATERIAL, "Biological material preprocessing", "not kept"),
    _not(MATERIAL, "Material source ID, DOI, description", "the nursery is not kept"),
    _own(MATERIAL, "earlier_names", "what the cultivar was called before it was renamed"),
    _own(MATERIAL, "introduced", "year of introduction"),
    _own(MATERIAL, "habit", "mounding, trailing, upright or spreading"),
    _own(MATERIAL, "foliage_only", "whether it is grown for its leaves"),
    _own(MATERIAL, "declared_bloom_colours", "as noted, sRGB"),
    _own(MATERIAL, "declared_foliage_colours", "as noted, sRGB"),
    Mapped(ENVIRONMENT, _STUDY_ID, "the trial's id"),
    Mapped(ENVIRONMENT, "Environment parameter", "lowest and highest temperature and rain of a day, with the unit"),
    Mapped(ENVIRONMENT, "Environment parameter value", "as typed in or from a station's file; never a forecast"),
    _own(ENVIRONMENT, "date", "the day"),
    Mapped(FACTOR, _STUDY_ID, "the trial's id"),
    Mapped(FACTOR, "Experimental factor type", "kind of planter, light, afternoon shade, wind, watering"),
    Mapped(FACTOR, "Experimental factor description", "what is meant by it"),
    Mapped(FACTOR, "Experimental factor values", "those that occur in the trial"),
    Mapped(EVENT, _STUDY_ID, "the trial's id"),
    Mapped(EVENT, _UNIT_ID, "the planting; empty for care of the whole trial"),
    Mapped(EVENT, "Event type", "planting, removal, or the care that was given"),
    _not(EVENT, "Event accession number", "the types are the journal's words; no public list was matched to them"),
    Mapped(EVENT, "Event description", "product and note; at planting the number of plants"),
    Mapped(EVENT, "Event date", "the day"),
    Mapped(UNIT, _STUDY_ID, "the trial's id"),
    Mapped(UNIT, "Biological material ID", "the cultivar's id"),
    Mapped(UNIT, _UNIT_ID, "the planting's id"),
    Mapped(UNIT, "Observation unit type", "pot for a pot or hanging basket, plot for a trough, wall rack or bed"),
    _not(UNIT, "External ID", "no public repository knows it"),
    Mapped(UNIT, "Spatial distribution", "the number of the planter on the walk"),
    Mapped(UNIT, "Observation unit factor value", "each factor that is noted"),
    _own(UNIT, "planter", "the planter's name"),
    _own(UNIT, "planter_length_cm", "its length"),
    _own(UNIT, "plants_set_out", "how many plants were set out"),
    _own(UNIT, "planted_on", "day of planting"),
    _own(UNIT, "removed_on", "day of removal"),
    _own(UNIT, "identity", "whether the cultivar is sure: confirmed or doubtful"),
    _own(UNIT, "card_code", "the code of its printed card"),
    _not(SAMPLE, "Sample ID, description, collection date and others", "no samples are taken; photos are no samples"),
    Mapped(VARIABLE, "Variable ID", "the number's name in the journal"),
    Mapped(VARIABLE, "Variable name", "the same in words"),
    _not(VARIABLE, "Variable accession number", "the variables are the journal's own; no ontology was matched to them"),
    Mapped(VARIABLE, "Trait", "what of the plant is observed"),
    _not(VARIABLE, "Trait accession number", "as for the variable"),
    Mapped(VARIABLE, "Method", "photo or person"),
    _not(VARIABLE, "Method accession number", "as for the variable"),
    Mapped(VARIABLE, "Method description", "how the number comes about"),
    Mapped(VARIABLE, "Reference associated to the method", "where the method was published, if it was"),
    Mapped(VARIABLE, "Scale", "the unit"),
    _not(VARIABLE, "Scale accession number", "as for the variable"),
    Mapped(VARIABLE, "Time scale", "ISO 8601: a moment for photos, a day for what a person notes"),
    _own(OBSERVATION, "study_id", "the trial's id"),
    _own(OBSERVATION, "observation_unit_id", "the planting's id"),
    _own(OBSERVATION, "variable_id", "as in observed_variable.csv"),
    _own(OBSERVATION, "observed_at", "the moment of the photo, or the day"),
    _own(OBSERVATION, "days_after_planting", "calendar days since planting"),
    _own(OBSERVATION, "value", "empty where it could not be had"),
    _own(OBSERVATION, "low_90", "lower end of the 90 % interval, where the number has one"),
    _own(OBSERVATION, "high_90", "upper end of the 90 % interval"),
    _own(OBSERVATION, "why_missing", "the reason, in a sentence, where the value is empty"),
    _own(OBSERVATION, "doubt", "what makes the value less sure than its interval says"),
    _own(OBSERVATION, "method_version", "name and version of the measuring method"),
    _own(OBSERVATION, "rater", "who rated, by number: names stay in the journal"),
    _own(OBSERVATION, "photo_file", "the photo's name when it was taken in"),
    _own(OBSERVATION, "photo_sha256", "SHA-256 of the original, to find it by"),
)


def columns_of(section: str) -> tuple[str, ...]:
    return tuple(field.name for field in MAPPED if field.section == section and field.column)
