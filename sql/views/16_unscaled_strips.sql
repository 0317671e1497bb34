-- One row per strip whose grain only a yield monitor weighed and that no certified scale stands behind. Its yield says
-- nothing in an answer: a monitor that is 3 % off is off by more than a bushel.
create or replace view unscaled_strips as
select crop_year, field, plot
from monitor_strips
anti join strip_scale using (crop_year, field, plot)
semi join (from loads where weighed_by = 'yield monitor') as read_off using (crop_year, field, plot);
