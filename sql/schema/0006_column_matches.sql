-- How the columns of somebody else's file match ours, kept under a name: one row a column of ours.
create table column_matches (
    name varchar not null,
    table_name varchar not null,
    column_name varchar not null,
    file_column varchar not null,
    unit varchar
);
