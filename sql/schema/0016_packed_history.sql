-- Rows of the history are alike, and long: packed as one text they take half the room, and half the time to write.
-- What packs them is named, for the engine would try every way it knows first, and take another.
create table new_changes (
    act_id bigint not null,
    table_name varchar not null,
    row_key json not null using compression zstd,
    before json using compression zstd,
    after json using compression zstd
);
insert into new_changes select * from changes;
drop table changes;
alter table new_changes rename to changes;
