-- A draft names its paper by the table that the paper fills; before, by what the screen called it.
update drafts set paper = case paper
    when 'Tickets' then 'loads'
    when 'Grade slips and crush counts' then 'samples'
    when 'Loss checks' then 'loss_checks'
    when 'Dates and stages' then 'plots'
    when 'Field work' then 'operations'
    when 'Weather' then 'weather'
    when 'Prices' then 'prices'
    when 'Fields' then 'fields'
    when 'What grew where' then 'plantings'
    when 'Pairs' then 'pairs'
    when 'Field totals' then 'field_totals'
    when 'Distances between fields' then 'field_distances'
    else paper
end;
