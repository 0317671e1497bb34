-- The codes, drawn by lot, under which this farm and its places go to a growers' group; the same every year.
create table share_codes (
    kind varchar not null check (kind in ('farm', 'place')),
    name varchar not null,
    code varchar not null
);
