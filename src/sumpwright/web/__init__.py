"""The browser job sheet: a page on this machine on which the whole job can be done.

The shop types ``sumpwright open my-pan`` and works on in the browser: every edit goes to
the job's files at once, every picture is drawn from what the stages worked out. In: a job
folder, or a new folder to lay a job out in. Out: the files of that folder and nothing
else. It listens on this machine only, wants its key on every message, and never looks at
another machine. Left out here: every calculation.

In reading order: ``messages`` and ``picture_messages`` (what page and server say),
``job_folder``, ``toml_edits``, ``rail_edits`` and ``edits`` (a change is made to the text
of a file), ``merging`` and ``history`` (what was changed, kept through a crash),
``stage_process``, ``slow_process`` and ``workers`` (the stages, in processes of their own),
``workbench`` and ``snapshot`` (the one open job), ``fields``, ``said`` and ``sheet_state``
(the sheet as messages), ``pan_picture``, ``parts_picture``, ``charts`` and ``lean`` (what it
looks like), ``new_job``, ``uploads``, ``door`` (who may ask), ``service`` (the paths),
``run_server``.
"""
