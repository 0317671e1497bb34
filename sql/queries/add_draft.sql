insert into drafts (paper, crop_year, field, plot, typed_by, content)
values ($paper, $crop_year, $field, $plot, $typed_by, $content);
