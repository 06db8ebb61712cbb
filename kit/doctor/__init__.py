"""The doctor: why a recording does not load, by what it sounds like, and what to do about it."""

from kit.doctor.catalogue import CAUSES, CAUTIONS, Cause, Remedy
from kit.doctor.diagnosing import diagnose
from kit.doctor.diagnosis import Diagnosis
from kit.doctor.evidence import Evidence
from kit.doctor.explain import BlockTrouble
from kit.doctor.findings import Finding, Measured
from kit.doctor.gathering import gather

__all__ = ["CAUSES", "CAUTIONS", "BlockTrouble", "Cause", "Diagnosis", "Evidence", "Finding", "Measured", "Remedy",
           "diagnose", "gather"]
