(part_definition) @class.around
(repeat_block) @class.around
(declaration) @entry.around
(comment)+ @comment.around
(doc_comment)+ @comment.around
