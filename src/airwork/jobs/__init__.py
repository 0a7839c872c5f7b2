"""Jobs: one function for each step of an instructor's work, called alike by commands, pages, logbook and notebooks.

`load_airplane`, `load_standard`, `load_lesson`, `brief_lesson`, `rehearse_lesson`, `read_flight`, `debrief_flight`,
`enter_flight`, `learn_airplane`: each stands in the module of its subject and takes what a person has in hand: a file,
the name of one that ships, or the value an earlier job gave. `import airwork` exports those a notebook needs.
"""
