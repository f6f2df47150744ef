"""The longer commands of the command line, by what they are about; `sketcher.cli` has the parser and the rest."""
