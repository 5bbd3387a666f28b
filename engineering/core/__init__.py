"""The engineering core: a piece's specification in, its checked result out; numpy and the standard library alone.

One thread of linear algebra: its arrays are small, and a pool of threads that wait for them makes a study half as
fast. Set here because it must stand before numpy is first imported; a value given from outside stays.
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
