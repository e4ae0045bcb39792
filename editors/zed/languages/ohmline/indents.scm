(part_definition) @indent
(repeat_block) @indent
