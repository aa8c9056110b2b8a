"""All mutations: the core in the order of the right-hand side, the laws, the rows of the parts."""

from .caps_and_gas import CAPS_AND_GAS
from .engine_and_radiator import ENGINE_AND_RADIATOR
from .engine_rows import ENGINE_ROWS
from .flows_and_books import FLOWS_AND_BOOKS
from .gas_laws import GAS_LAWS
from .gas_ways import GAS_WAYS
from .heat_laws import HEAT_LAWS
from .hydraulic_laws import HYDRAULIC_LAWS
from .jacobian_entries import JACOBIAN_ENTRIES
from .limits_and_strides import LIMITS_AND_STRIDES
from .long_steps import LONG_STEPS
from .part_rows import PART_ROWS
from .right_hand_side import RIGHT_HAND_SIDE
from .shared_groups import SHARED_GROUPS
from .stages import STAGES

STEPS = (*JACOBIAN_ENTRIES, *LIMITS_AND_STRIDES, *LONG_STEPS, *STAGES)
CORE = (*RIGHT_HAND_SIDE, *FLOWS_AND_BOOKS, *CAPS_AND_GAS, *ENGINE_AND_RADIATOR, *STEPS)
LAWS = (*HYDRAULIC_LAWS, *HEAT_LAWS, *SHARED_GROUPS, *GAS_LAWS)
ROWS = (*ENGINE_ROWS, *PART_ROWS, *GAS_WAYS)
MUTATIONS = (*CORE, *LAWS, *ROWS)
