"""The version of the listening engine: alignment, measures and findings together.

It is stored with every assessment. When it grows, `counterpane reassess` hears the kept key events again and
keeps the old result beside the new one.
"""

ENGINE = "6"
