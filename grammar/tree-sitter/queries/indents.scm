[
  (part_definition)
  (repeat_block)
] @indent.begin

(end_statement) @indent.branch @indent.end
