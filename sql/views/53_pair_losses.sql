-- One row per pair and part of the loss: standing, windrowed, and standing minus windrowed, bu/ac; null where a side was
-- not checked. The windrower's part has no standing side and the difference counts it as 0 there.
create or replace view pair_losses as
with parts as (
    from (values (1, 'shatter'), (2, 'windrower'), (3, 'header'), (4, 'combine'), (5, 'total'))
        as given (part_order, part)
),

sides as (
    select
        pair_plots.crop_year,
        pair_plots.pair,
        parts.part_order,
        parts.part,
        max(plot_loss_parts.loss_bu_ac) filter (where pair_plots.side = 'standing') as standing_bu_ac,
        max(plot_loss_parts.loss_bu_ac) filter (where pair_plots.side = 'windrowed') as windrowed_bu_ac
    from pair_plots
    cross join parts
    left join plot_loss_parts using (crop_year, field, plot, part)
    group by all
)

select
    *,
    case when part = 'windrower' then -windrowed_bu_ac else standing_bu_ac - windrowed_bu_ac end as difference_bu_ac
from sides;
