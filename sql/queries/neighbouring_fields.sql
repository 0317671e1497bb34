-- Two fields that were paired with each other, each way once.
select distinct
    standing_field,
    windrowed_field
from pairs
where standing_field <> windrowed_field;
