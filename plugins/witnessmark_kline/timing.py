"""The times of ISO 14230-2 and ISO 9141-2 in seconds, as the tester keeps them and as it allows them.

All from memory of ISO 14230-2, tables 1 and 2; where a program cannot be as sharp as the standard, the allowance says
so and is added to what others may take, never to what we do.
"""

from __future__ import annotations

LOW_S = HIGH_S = 0.025
"""The wake-up pattern of fast initialisation: 25 ms low, 25 ms high."""
IDLE_BEFORE_S = 0.300
"""W5, and the idle time before fast initialisation: at least 300 ms of quiet line."""
BIT_S = 0.200
"""One bit at 5 baud."""
W1_MOST_S = 0.300
"""From the address to the synchronisation byte, at most (60 to 300 ms)."""
W2_MOST_S = W3_MOST_S = 0.020
"""From synchronisation byte to key byte 1 (5 to 20 ms), and from that to key byte 2 (0 to 20 ms), at most."""
W4_LEAST_S, W4_MOST_S = 0.025, 0.050
"""From key byte 2 to its complement, and from that to the complement of the address."""
P1_MOST_S = 0.020
"""Between two bytes of a control unit's answer, at most."""
P2_MOST_S = 0.050
"""From the end of a request to the begin of its answer, at most (25 to 50 ms)."""
P3_LEAST_S, P3_MOST_S = 0.055, 5.0
"""From the end of the last answer to our next request; after the longest the session is over."""
P4_LEAST_S = 0.005
"""Between two bytes of our request (5 to 20 ms)."""
ALLOWANCE_S = 0.25
"""What a serial driver and the operating system may add to another's time before it is taken as over."""
