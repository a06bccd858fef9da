"""How is what a person wrote down kept, and never lost?

folder.py    where their data folder is
lock.py      how one program at a time saves in a folder
plans.py     their plans, TOML files: the truth
compare.py   two plans, key by key
database.py  the one SQLite file beside the plans, and how it grows from version to version
diary.py     in it: decisions taken, each pointing to its plan
sittings.py  in it: what each window has open, and its figures not yet saved
"""
