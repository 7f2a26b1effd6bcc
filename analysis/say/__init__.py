r"""Every sentence a keeper reads: a file a subject, `code = "English with {facts}"`, written out by `say`.

`say("pairs.rest", clutches=3)` looks up `rest` in `pairs.toml` and fills its facts in. How a fact is written follows
its kind and what stands behind the colon:

===================  ==================================================================================
`{who}`              text as it stands; a finding said; a list as "a, b and c"; a day as "9 May 2026"
`{n:# egg|# eggs}`   a number agrees: the first for one (and for what is true), the second for any other
`{n:?, # set aside}` written where the fact is there (not "", 0, None, false, an empty list), else what follows a `|`
`{rate:%}`           a rate as "56 %", an interval of rates as "44–69"; `{change:+%}` "−3 %"
`{mass:mass}`        gram with as many digits as a kitchen scale gives
`{day:full}`         "Wednesday 20 May 2026"; `{day:short}` "20 May"; `{day:%H:%M}` as Python writes it
`{rows:rows}`        runs of rows as "7–9, 12"
`{what:begun}`       begins a sentence; `{what:ended}` ends one, a question with its own mark
`{names:most 3}`     the first three of a list, and how many more
`{parts:; }`         a list with this between; any that is made of marks and spaces
`{share:.1f}`        as Python writes it
===================  ==================================================================================

A fact that is None, or no number or day, is left out. A text may hold `\n`; a brace is written twice.
"""

from analysis.say.voice import heads, in_words, say, speaking

__all__ = ["heads", "in_words", "say", "speaking"]
