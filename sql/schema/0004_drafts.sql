-- What was typed on a screen and not saved yet, one row a paper, place and person; gone once it is saved.
create table drafts (
    paper varchar not null,
    crop_year bigint not null,
    field varchar,
    plot varchar,
    typed_by varchar not null,
    typed_at timestamp not null default current_localtimestamp(),
    content json not null
);
