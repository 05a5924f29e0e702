"""The job file: its schema, reading it with the place of every fault, saving it without losing a byte."""

from soapstone.job.load import load, load_text
from soapstone.job.readings import sigma_of, value_of
from soapstone.job.schema import Job, json_schema, json_schema_text

__all__ = ["Job", "json_schema", "json_schema_text", "load", "load_text", "sigma_of", "value_of"]
