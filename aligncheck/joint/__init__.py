"""Several photos of one panel checked together: the library's second front door is `check_together`."""

from aligncheck.joint.as_result import as_joint_result
from aligncheck.joint.front import JointCheck, check_together, join
from aligncheck.joint.measured import Measured

__all__ = ["JointCheck", "Measured", "as_joint_result", "check_together", "join"]
