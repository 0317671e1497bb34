-- Very many new rows of one table in one act.
insert into packed_rows (act_id, table_name, key_columns, content)
values ($act_id, $table_name, $key_columns, $content);
