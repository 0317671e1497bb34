select
    typed_at,
    content
from drafts
where
    paper = $paper
    and crop_year = $crop_year
    and field is not distinct from $field
    and plot is not distinct from $plot
    and typed_by = $typed_by;
