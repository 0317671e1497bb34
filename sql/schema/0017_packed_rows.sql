-- Very many new rows of one table in one act are kept together, as one Parquet file: as texts, one by one, they took a
-- third of an import's time. The key's columns are named beside it, and what a search looks for stands in a table.
create table packed_rows (
    act_id bigint not null,
    table_name varchar not null,
    key_columns varchar[] not null,
    content blob not null
);

create table packed_places (
    act_id bigint not null,
    table_name varchar not null,
    crop_year bigint,
    field varchar,
    second_field varchar,
    number bigint not null check (number > 0)
);
