"""The oil: how hot it is, how much may go in, how full the pot may be, and whether it is safe to drop.

Pure: values and time in, values out; SI and degrees Celsius. From the ground up: `properties` (correlations), `foods` (what a cut is), `pot` (the
vessel and the curve of one batch), `headroom`, `batch` (the largest batch), `estimate` (a pot being cooked in), `gate` (go or hold), then `runaway`,
`foam`, `quality`, `life`, `described` (a pot told by voice), `kept` (between evenings), `chart`, which alone
loads anything heavy, matplotlib, when called.
"""
