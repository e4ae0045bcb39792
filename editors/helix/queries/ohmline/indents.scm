[
  (part_definition)
  (repeat_block)
] @indent

(end_statement) @outdent
