## Makes points_on_the_ground.json and points_cleaned.json in this folder: Rscript points.R
## Geometry by PROJ and GEOS as R's sf calls them; the cleaning written out in R from the sentences of the steps.
suppressMessages({library(jsonlite); library(sf)})
options(digits = 15, warn = 1)
u <- unbox
VER <- paste0("R ", getRversion(), ", sf ", packageVersion("sf"), ", PROJ ", sf_extSoftVersion()["PROJ"], ", GEOS ", sf_extSoftVersion()["GEOS"])
save_as <- function(id, title, where, data, expected)
  writeLines(toJSON(list(id = u(id), title = u(title), data_source = list(where = u(where)), checked_against = u(VER),
                         data = data, expected = expected), digits = NA, na = "null", null = "null", pretty = 2), paste0(id, ".json"))
E <- function(value, source, tol, kind = "rel") list(value = if (length(value) == 1) u(value) else value, tolerance = u(tol),
                                                    tolerance_kind = u(kind), kind = u("oracle"), source = u(source))

## ---- metres east and north; which points lie in which strip
set.seed(20260901)
origins <- list(c(-107.25, 52.61), c(-98.4, 49.02), c(117.9, -31.6))
ground <- lapply(origins, function(o) {
  far <- 1600; lat <- o[2] + runif(20, -far, far) / 111200; lon <- o[1] + runif(20, -far, far) / (111200 * cos(o[2] * pi / 180))
  lon <- round(lon, 8); lat <- round(lat, 8)
  m <- sf_project("+proj=longlat +datum=WGS84", sprintf("+proj=tmerc +lat_0=%.6f +lon_0=%.6f +k=1 +ellps=WGS84", o[2], o[1]), cbind(lon, lat))
  list(origin = o, longitude = lon, latitude = lat, east = m[, 1], north = m[, 2])
})
box <- function(x, y, heading, length, width) {
  a <- heading * pi / 180; along <- c(sin(a), cos(a)); right <- c(cos(a), -sin(a)) * width / 2; far <- c(x, y) + along * length
  rbind(c(x, y) - right, c(x, y) + right, far + right, far - right)
}
outlines <- list(box(20, 10, 0, 300, 24.4), box(44.4, 10, 0, 300, 24.4), box(120, 15, 37, 260, 18.3), rbind(c(300, 20), c(345, 60), c(330, 290), c(288, 250)))
at <- cbind(round(runif(1500, 0, 400), 3), round(runif(1500, 0, 340), 3))
polys <- st_sfc(lapply(outlines, function(o) st_polygon(list(rbind(o, o[1, ])))))
within <- st_intersects(st_sfc(lapply(seq_len(nrow(at)), function(i) st_point(at[i, ]))), polys, sparse = FALSE)
strip <- ifelse(rowSums(within) == 0, -1, max.col(within, ties.method = "first") - 1)
save_as("points_on_the_ground", "Degrees to metres by a transverse Mercator around the field; points in polygons",
        "places drawn at random around three origins; four outlines of our own",
        list(ground = ground, outlines = outlines, east = at[, 1], north = at[, 2]),
        list(strip = E(strip, "sf::st_intersects (GEOS)", 0, "abs"), area = E(as.numeric(st_area(polys)), "sf::st_area", 1e-9),
             metres = E(0, "sf::sf_project (PROJ), +proj=tmerc +k=1", 0.001, "abs")))

## ---- the steps of the cleaning, in their order, on two strips of two passes
th <- list(headland_m = 10, start_m = 20, end_m = 10, outlier_sd = 7, lowest_kg_ha = 1500, highest_kg_ha = 2900, neighbour_share = .12, fewest_points = 71, spot_m = 2.16)
n <- 90; rows <- NULL
for (p in 1:4) {
  y <- if (p %% 2) 2.2 * (1:n) else 2.2 * (n + 1 - 1:n)
  kg <- 2.2 * c(9, 9, 12, 12)[p] / 1e4 * (2000 + 300 * sin(y / 25) + rnorm(n, 0, 90))
  rows <- rbind(rows, data.frame(pass = p, strip = (p - 1) %/% 2, seconds = p * 1000 + 1:n, east = c(4.5, 13.5, 24, 36)[p], north = y, lasted = 1,
                                 distance = round(2.2 + rnorm(n, 0, .02), 3), kg = round(kg, 5), moisture = round(8 + rnorm(n, 0, .1), 2), up = FALSE))
}
rows$up[c(1, 2, 91, 360)] <- TRUE; rows$kg[c(40, 41, 130, 222)] <- c(8, .001, 9, .02); rows$moisture[c(150, 300)] <- c(31, 1)
rows$distance[c(60, 240)] <- 1.5; rows$kg[c(60, 240)] <- round(1.5 * c(9, 12) / 1e4 * 2100, 5); rows$kg[310] <- NA; rows$kg[c(70, 330)] <- round(rows$kg[c(70, 330)] * 1.2, 5); rows$kg[c(75, 200)] <- round(rows$kg[c(75, 200)] * .6, 5)
width <- c(9, 12); ends <- c(0, 200)
rows$speed <- rows$distance / rows$lasted; rows$flow <- rows$kg / rows$lasted; rows$method <- c("windrowed", "standing")[rows$strip + 1]
so_far <- ave(rows$distance, rows$pass, FUN = cumsum)  # the header switches here only begin and end a pass: passes are given
rows$into <- so_far - rows$distance; rows$left <- ave(rows$distance, rows$pass, FUN = sum) - so_far
rows$yield <- rows$kg / (rows$distance * width[rows$strip + 1]) * 1e4; rows$by <- NA
take <- function(out, step) { out[is.na(out)] <- FALSE; rows$by[is.na(rows$by) & out] <<- step }
take(rows$up, "header up"); take(is.na(rows$kg), "no grain yet for its place")
take(pmin(rows$north - ends[1], ends[2] - rows$north) < th$headland_m, "headland"); take(rows$into < th$start_m | rows$left < th$end_m, "start or end of a pass")
far <- rep(FALSE, nrow(rows))
for (v in c("flow", "distance", "moisture", "speed")) for (m in unique(rows$method)) { i <- rows$method == m; k <- rows[i & is.na(rows$by), v]
  far[i] <- far[i] | (sd(k) > 1e-6 & abs(rows[i, v] - mean(k)) > th$outlier_sd * sd(k)) }
take(far, "flow, distance, moisture or speed far off"); take(!(rows$yield >= th$lowest_kg_ha & rows$yield <= th$highest_kg_ha), "more or less than grows")
mid <- rep(NA, nrow(rows))
for (p in 1:4) { i <- which(rows$pass == p); v <- ifelse(is.na(rows$by[i]), rows$yield[i], NA)
  mid[i] <- sapply(seq_along(v), function(j) { w <- v[max(1, j - 5):min(length(v), j + 5)]; if (sum(!is.na(w)) >= 5) median(w, na.rm = TRUE) else NA }) }
take(abs(rows$yield - mid) > th$neighbour_share * mid, "unlike its neighbours")
take(ave(is.na(rows$by), rows$pass, FUN = sum) < th$fewest_points, "short piece of a pass"); take(rows$distance < th$spot_m, "on one spot")
kept <- is.na(rows$by)
by_strip <- sapply(0:1, function(s) { k <- rows[kept & rows$strip == s, ]; sum(k$kg) / sum(k$distance * width[s + 1]) * 1e4 })
steps <- c("header up", "no grain yet for its place", "headland", "start or end of a pass", "flow, distance, moisture or speed far off", "more or less than grows",
           "unlike its neighbours", "short piece of a pass", "on one spot")
counts <- sapply(steps, function(s) sum(rows$by == s, na.rm = TRUE))
save_as("points_cleaned", "The steps of the cleaning in their order, counts and yields", "two strips of two passes drawn at random, with faults put in by hand",
        c(list(thresholds = lapply(th, u)), as.list(rows[, c("pass", "strip", "seconds", "east", "north", "lasted", "distance", "kg", "moisture", "up", "into", "left", "speed", "flow", "method")])),
        list(steps = E(counts, "written out in points.R", 0, "abs"), kept = E(sum(kept), "the same", 0, "abs"), yield = E(by_strip, "the same, kg/ha", 1e-5)))

## ---- a published harvest: 500 pieces of one field sown and treated alike, each cut and weighed (W. B. Mercer and A. D. Hall
## 1911, Journal of Agricultural Science 4:107-132), as carried by R's spData (licence CC0 1.0), with GEOS cutting the strips
shapes <- st_read(system.file("shapes/wheat.shp", package = "spData"), quiet = TRUE); st_crs(shapes) <- NA
middles <- st_coordinates(st_centroid(st_geometry(shapes))); east <- middles[, 1]; north <- middles[, 2]
wide <- as.numeric(diff(st_bbox(shapes[1, ])[c(1, 3)])); long <- as.numeric(diff(st_bbox(shapes[1, ])[c(2, 4)]))
box_around <- st_bbox(shapes); columns <- 2  # a strip is two pieces wide: twelve strips, and a column over at the right
strips <- lapply(0:11, function(at) { x <- box_around[["xmin"]] + at * columns * wide
  rbind(c(x, box_around[["ymin"]]), c(x + columns * wide, box_around[["ymin"]]), c(x + columns * wide, box_around[["ymax"]]), c(x, box_around[["ymax"]])) })
shape <- st_sfc(lapply(strips, function(o) st_polygon(list(rbind(o, o[1, ])))))
kg <- shapes$yield * 0.45359237
weighed <- sapply(shape, function(one) sum(kg[st_intersects(st_geometry(st_centroid(st_geometry(shapes))), st_sfc(one), sparse = FALSE)[, 1]]))
by_area <- weighed / as.numeric(st_area(shape)) * 1e4
apart <- diff(by_area)
save_as("wheat_cut_alike", "A field cut and weighed in 500 pieces that were all treated alike, as strips of two pieces' width",
        "R's spData 2.2.1, shapes/wheat.shp (CC0 1.0), after Mercer and Hall 1911; pounds, and the distances of that file taken as metres",
        list(east = round(east, 4), north = round(north, 4), pounds = shapes$yield, piece = c(wide, long), strips = strips),
        list(pounds = E(sum(shapes$yield), "sum of the column yield", 1e-9), yield = E(by_area, "sf: kg in each polygon by st_area", 1e-6),
             apart = E(sqrt(mean(apart^2)), "root of the mean square of neighbours' differences, kg/ha", 1e-6)))
