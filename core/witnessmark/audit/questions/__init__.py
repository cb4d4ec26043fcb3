"""The questions that disputes have turned on, one module each; registered like any plugin's."""
