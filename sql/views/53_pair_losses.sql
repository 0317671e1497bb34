-- One row per pair and part of the loss: standing, windrowed, and standing minus windrowed; null where a side was not
-- checked. The windrower's part has no standing side and the difference counts it as 0 there.
create or replace view pair_losses as
with parts as (
    from (values (1, 'shatter'), (2, 'windrower'), (3, 'header'), (4, 'combine'), (5, 'total'))
        as given (part_order, part)
)

select
    pairs.crop_year,
    pairs.pair,
    parts.part_order,
    parts.part,
    standing.loss_bu_ac as standing_bu_ac,
    windrowed.loss_bu_ac as windrowed_bu_ac,
    case when parts.part = 'windrower' then -windrowed.loss_bu_ac else standing.loss_bu_ac - windrowed.loss_bu_ac end
        as difference_bu_ac,
    standing.loss_pct as standing_pct,
    windrowed.loss_pct as windrowed_pct,
    standing.loss_dollars_ac as standing_dollars_ac,
    windrowed.loss_dollars_ac as windrowed_dollars_ac
from pairs
cross join parts
left join plot_loss_parts as standing
    on standing.crop_year = pairs.crop_year
    and standing.field = pairs.standing_field
    and standing.plot = pairs.standing_plot
    and standing.part = parts.part
left join plot_loss_parts as windrowed
    on windrowed.crop_year = pairs.crop_year
    and windrowed.field = pairs.windrowed_field
    and windrowed.plot = pairs.windrowed_plot
    and windrowed.part = parts.part;
