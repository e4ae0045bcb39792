[
  (part_definition)
  (repeat_block)
  (group)
] @fold
