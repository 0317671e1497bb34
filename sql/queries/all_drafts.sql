-- One row a draft, thrown away or not, the newest first; with the number of its row, by which it is dropped.
select rowid, paper, crop_year, field, plot, typed_by, typed_at, content
from drafts
order by typed_at desc, rowid desc;
