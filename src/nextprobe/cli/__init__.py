"""The command line: verbs of the trade, tables for people, ``--json`` for machines.

Every command that prints data takes ``--json`` and then prints one JSON object:

- ``start``, ``show``: ``job``, ``overview``; ``show`` also ``events``
- ``jobs``: ``jobs``
- ``next``: ``job``, ``ended``, ``currency``, ``near_tie``, ``lower_bound``, ``steps``, ``remarks``
- whatever records (``record``, ``read``, ``donor``, ``look``, ``check``, ``trial``, ``refresh``,
  ``work``, ``note``, ``close``, ``pinout``, ``chain``, ``role``, ``correct``, ``withdraw``):
  ``job``, ``recorded``, ``remarks``
- ``suspects``: ``job``, ``suspects``, ``remarks``; ``why``: ``job``, ``explanation``
- ``expect``: ``job``, ``expected``; ``compare``: ``job``, ``differences``
- ``packs``: ``packs``, ``templates``; ``pack check``, ``pack new``: ``pack``
- ``good add``, ``good import``, ``good keep``, ``good correct``: ``device``, ``kept``; ``good
  list``: ``device``, ``boards``, ``misfits``; ``good show``: ``device``, ``points``; ``good
  withdraw``: ``device``, ``withdrawn``, ``boards``
- ``board``: ``board``; with ``--nets``, ``--parts``, ``--search`` and ``--map`` also ``nets``,
  ``parts`` and ``map``
- ``rehearse``: ``devices``, ``strategies``, ``gap_closed``, ``calibration``, ``pit`` and
  what was played
- ``testability``: ``detected``, ``isolated``, ``ambiguity_groups`` and more

and in each of them ``findings``; ``demo`` prints ``jobs`` alone. The fields of the records are
those of the data classes in `nextprobe.workbench`: ``StepRecord``, ``SuspectRecord``,
``Explanation``, ``ExpectedReading``, ``DifferenceRecord``, ``Overview``, ``LogLine``, ``Recorded``.
Values are SI, and over-range is the word ``over-range``.
An error is ``{"error": {"kind", "message", "findings"}}`` and nothing else.

Exit codes: 0 done; 1 a finding that is an error, also where the rest was recorded; 2 misuse.
"""
