"""Finished checks as files: the result file with its schema, the pictures, one table of many photos."""

from aligncheck.result.as_result import as_result
from aligncheck.result.names import Target, targets
from aligncheck.result.schema import result_schema

__all__ = ["Target", "as_result", "result_schema", "targets"]
