-- What is kept in the terminal is told as from there, so an act may have it as its source.
create table new_acts (
    act_id bigint not null default nextval('act_number'),
    happened_at timestamp not null default current_localtimestamp(),
    done_by varchar not null,
    source varchar not null check (source in ('import', 'screen', 'terminal', 'setting', 'undo', 'restore')),
    why varchar
);
insert into new_acts select * from acts;
drop table acts;
alter table new_acts rename to acts;
