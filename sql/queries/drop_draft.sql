-- One draft goes.
delete from drafts where rowid = $row;
