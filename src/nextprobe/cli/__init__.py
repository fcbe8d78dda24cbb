"""The command line: verbs of the trade, tables for people, ``--json`` for machines."""
