## Makes gail_simon, years_held, crossed_years, depends_on_x, started_from_prior and farms_and_years (.json) in this folder: Rscript several_years.R
suppressMessages({library(jsonlite); library(metafor); library(lme4); library(lmerTest); library(pbkrtest)})
options(digits = 15, warn = 1)
VER <- paste0("R ", getRversion())
pv <- function(p) paste0(p, " ", packageVersion(p))
MIXED <- paste(pv("lme4"), pv("pbkrtest"))
u <- unbox

## one expected value: number(s), tolerance, where it comes from; a relative tolerance means nothing on a zero
E <- function(value, source, tol = 1e-4, kind = "oracle", tol_kind = "rel") {
  if (tol_kind == "rel" && max(abs(value)) < 1e-5) { tol <- 1e-4; tol_kind <- "abs" }
  list(value = if (length(value) == 1) u(value) else value, tolerance = u(tol), tolerance_kind = u(tol_kind),
       kind = u(kind), source = u(source))
}
P <- function(value, source, tol) E(value, source, tol, "published", "abs")
doc <- function(id, title, author, year, where, data, expected) {
  x <- list(id = u(id), title = u(title), data_source = list(author = u(author), year = u(year), where = u(where)),
            checked_against = u(paste(VER, "-", pv("metafor"), MIXED, pv("lmerTest"))), data = data, expected = expected)
  writeLines(toJSON(x, digits = NA, na = "null", null = "null", pretty = 2), paste0(id, ".json"))
}

## ---- do the years agree? chi-square (variances known) and F (one variance, estimated) of Gail and Simon
gail_simon_chi <- function(q) { k <- length(q$signs) - 1
  if (q$least == 0) 1 else sum(dbinom(1:k, k, .5) * pchisq(q$least, 1:k, lower.tail = FALSE)) }
gail_simon_f <- function(q, df) { k <- length(q$signs) - 1
  if (q$least == 0) 1 else sum(dbinom(1:k, k, .5) * pf(q$least / (1:k), 1:k, df, lower.tail = FALSE)) }
halves <- function(mean, variance) { z <- mean^2 / variance
  list(signs = sign(mean), plus = sum(z[mean > 0]), minus = sum(z[mean < 0]), least = min(sum(z[mean > 0]), sum(z[mean < 0]))) }
years_agree <- function(d, year) {
  fit <- lm(d ~ factor(year)); n <- tapply(d, year, length); m <- tapply(d, year, mean); v <- summary(fit)$sigma^2
  q <- halves(m, v / n); src <- paste(VER, "anova(lm(d ~ factor(year))), pf and dbinom, written out in several_years.R")
  list(f_p = E(anova(fit)[["Pr(>F)"]][1], src, 1e-9), q_plus = E(q$plus, src, 1e-9), q_minus = E(q$minus, src, 1e-9),
       gail_simon_p = E(gail_simon_f(q, df.residual(fit)), src, 1e-9))
}
GS <- "M. Gail and R. Simon (1985) Biometrics 41:361-372"
MEM <- "(quoted from memory, not from a page read)"
pf_ <- c(.436, .639, .698, .790) - c(.599, .526, .651, .639)   # PFT less PF, share free of disease at three years
se2 <- c(.0572, .0463, .0438, .0387)^2 + c(.0542, .0510, .0431, .0386)^2
own <- halves(pf_, se2); chi <- paste(VER, "pchisq and dbinom, written out in several_years.R")
critical <- sapply(2:10, function(k) uniroot(function(x) sum(dbinom(1:(k - 1), k - 1, .5) * pchisq(x, 1:(k - 1), lower.tail = FALSE)) - .05, c(1, 30), tol = 1e-12)$root)
sd_ <- datasets::warpbreaks; wb <- list(d = sd_$breaks - ave(sd_$breaks, sd_$wool) , year = as.integer(sd_$tension))
im <- MASS::immer; im$d <- round(im$Y1 - im$Y2, 1)
kiln <- fromJSON("student_kiln_dried.json")$data
four <- list(d = c(4.9, 5.2, 4.6, 5.1, -4.6, -4.9, -4.7, -4.4, 1.0, 0.2), year = c(rep(2021, 4), rep(2022, 4), 2023, 2023))
oneside <- list(d = c(1.1, 2.4, 0.7, 3.9, 2.2, 1.8), year = c(1, 1, 2, 2, 3, 3))
doc("gail_simon", "Do subsets, or years, differ in direction? Gail and Simon's test, chi-square and F form", "M. Gail and R. Simon; F. R. Immer and others; Student",
    "1985; 1934; 1908", paste(GS, MEM, "- MASS::immer - the kiln-dried seed of student_kiln_dried.json - two sets of our own for the extremes"),
    list(published_example = list(subset = c("under 50, PR below 10", "50 or over, PR below 10", "under 50, PR 10 or more", "50 or over, PR 10 or more"), difference = pf_, variance = se2),
         critical = list(subsets = 2:10), immer_by_place = list(d = im$d, year = as.integer(im$Loc)), immer_by_variety_less_its_mean = list(d = round(im$d - mean(im$d), 4), year = as.integer(im$Var)),
         kiln_dried = list(d = kiln$difference, year = kiln$year), years_apart = four, one_side = oneside),
    list(published_example = list(q_plus = E(own$plus, chi, 1e-9), q_minus = E(own$minus, chi, 1e-9), chi_square_p = E(gail_simon_chi(own), chi, 1e-9), f_form_p_with_20_df = E(gail_simon_f(own, 20), chi, 1e-9), f_form_p_with_1e9_df = E(gail_simon_f(own, 1e9), chi, 1e-6),
           published = list(least_q = P(4.28, paste(GS, "example, section 5", MEM), .005), p = P(.088, paste(GS, MEM), .0005))),
         critical = list(least_q_at_0.05 = E(critical, chi, 1e-8), published = list(least_q_at_0.05 = P(c(2.71, 4.23, 5.43, 6.50, 7.48, 8.41, 9.29, 10.15, 10.99), paste(GS, "table 1, 5 % column", MEM), .006))),
         immer_by_place = years_agree(im$d, as.integer(im$Loc)), immer_by_variety_less_its_mean = years_agree(round(im$d - mean(im$d), 4), as.integer(im$Var)),
         kiln_dried = years_agree(kiln$difference, kiln$year), years_apart = years_agree(four$d, four$year), one_side = years_agree(oneside$d, oneside$year)))

## ---- years to come by Hartung and Knapp, and the rule that holds them no narrower than these fields
held <- function(d, year, margin) {
  n <- as.numeric(tapply(d, year, length)); m <- as.numeric(tapply(d, year, mean)); Y <- length(n); N <- length(d)
  s2 <- sum((d - ave(d, year))^2) / (N - Y)
  hk <- rma(m, s2 / n, method = "REML", test = "knha", control = list(threshold = 1e-14, maxiter = 10000, stepadj = .5))
  est <- as.numeric(hk$beta); se <- hk$se; se0 <- sqrt(s2 / N); half <- function(level) max(qt((1 + level) / 2, Y - 1) * se, qt((1 + level) / 2, N - Y) * se0)
  eq <- function(se, df) pt((abs(est) - margin) / se, df)
  src <- paste(pv("metafor"), "rma(method='REML', test='knha'); pooled t from base R"); tol <- 1e-6
  list(estimate = E(est, src, tol), std_error = E(se, src, tol), df = E(Y - 1, src, 0, tol_kind = "abs"), tau2 = E(hk$tau2, src, 1e-5),
       these_fields_half_width = E(qt(.975, N - Y) * se0, src, tol), hartung_knapp_half_width = E(qt(.975, Y - 1) * se, src, tol),
       held = list(value = u(half(.95) > qt(.975, Y - 1) * se), source = u(src)), low = E(est - half(.95), src, tol), high = E(est + half(.95), src, tol),
       p_value = E(max(2 * pt(-abs(est) / se, Y - 1), 2 * pt(-abs(est) / se0, N - Y)), src, 1e-6),
       equivalence_low = E(est - half(.9), src, tol), equivalence_high = E(est + half(.9), src, tol), equivalence_p = E(max(eq(se, Y - 1), eq(se0, N - Y)), src, 1e-6))
}
ds <- lme4::Dyestuff; ds$d <- (ds$Yield - 1500) / 10; d2 <- lme4::Dyestuff2; d2$d <- round(d2$Yield - 4.5, 3)
keep <- c(1:5, 6:8, 11:15, 16:17, 21:24, 26:28)
sets <- list(dyestuff = list(d = ds$d, year = as.integer(ds$Batch), margin = u(6)), dyestuff2 = list(d = d2$d, year = as.integer(d2$Batch), margin = u(4)),
             dyestuff_uneven = list(d = ds$d[keep], year = as.integer(ds$Batch)[keep], margin = u(6)), dyestuff2_uneven = list(d = d2$d[keep], year = as.integer(d2$Batch)[keep], margin = u(4)))
doc("years_held", "Hartung-Knapp over batches taken as years, and the range that is never narrower than the pooled one", "O. L. Davies and P. L. Goldsmith; G. E. P. Box and G. C. Tiao",
    "1972; 1973", "lme4::Dyestuff as (Yield - 1500) / 10, lme4::Dyestuff2 as Yield - 4.5; uneven: some rows left out", sets, lapply(sets, function(s) held(s$d, s$year, s$margin)))

## ---- d ~ 1 + (1|year) + (1|place)
tight <- lmerControl(optimizer = "nloptwrap", optCtrl = list(xtol_abs = 1e-12, xtol_rel = 1e-14, ftol_abs = 1e-14, ftol_rel = 1e-15, maxeval = 1e5),
                     check.nobs.vs.nlev = "ignore", check.conv.grad = "ignore", check.conv.singular = "ignore", check.conv.hess = "ignore")
other <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-12, maxfun = 1e6), check.nobs.vs.nlev = "ignore",
                     check.conv.grad = "ignore", check.conv.singular = "ignore", check.conv.hess = "ignore")
fitted_by <- function(formula, data) {  # the better of two optimisers: either alone stops short, or refuses, on some set
  fits <- lapply(list(tight, other), function(control) tryCatch(lme4::lmer(formula, data, REML = TRUE, control = control), error = function(e) NULL))
  fits <- Filter(Negate(is.null), fits)
  fits[[which.min(sapply(fits, REMLcrit))]]
}
sds <- function(m) { v <- as.data.frame(VarCorr(m)); setNames(v$sdcor, v$grp) }
crossed <- function(s, years = TRUE) {
  x <- data.frame(d = s$d, year = factor(s$year), place = factor(s$place))
  m <- fitted_by(if (years) d ~ 1 + (1 | year) + (1 | place) else d ~ 1 + (1 | place), x); v <- sds(m); se <- sqrt(as.numeric(vcovAdj(m)))
  r <- list(estimate = E(as.numeric(fixef(m)), MIXED), std_error = E(se, paste(MIXED, "vcovAdj")), df = E(get_Lb_ddf(m, 1), paste(MIXED, "get_Lb_ddf")),
            place_sd = E(v[["place"]], MIXED), rest_sd = E(v[["Residual"]], MIXED), prediction_sd = E(sqrt(se^2 + sum(v^2)), MIXED),
            shrunken_places = E(coef(m)$place[[1]], paste(MIXED, "coef")))
  if (years) r <- c(r, list(year_sd = E(v[["year"]], MIXED), shrunken_years = E(coef(m)$year[[1]], paste(MIXED, "coef"))))
  r
}
some <- function(s, rule) lapply(s, function(a) a[rule])
pen <- list(d = lme4::Penicillin$diameter - 23, year = as.integer(lme4::Penicillin$sample), place = as.integer(lme4::Penicillin$plate))
imm <- list(d = im$d, year = as.integer(im$Loc), place = as.integer(im$Var))
sle <- list(d = round((lme4::sleepstudy$Reaction - 300) / 10, 3), year = as.integer(lme4::sleepstudy$Days), place = as.integer(lme4::sleepstudy$Subject) - 0L)
fit <- lm(d ~ factor(year) + factor(place), imm); rest <- list(d = round(resid(fit) + 2, 3), year = imm$year, place = imm$place)
oneway <- list(d = round(rest$d + 12 * (imm$place - 3), 3), year = imm$year, place = imm$place)
i <- seq_along(pen$d); j <- seq_along(sle$d); k <- seq_along(imm$d)
cases <- list(penicillin = pen, penicillin_uneven = some(pen, (7 * i) %% 10 < 4), immer = imm, immer_uneven = some(imm, (7 * k) %% 5 != 1), sleep = sle,
              sleep_in_turn = some(sle, (sle$place + sle$year) %% 3 == 0), no_years = oneway, no_years_uneven = some(oneway, (7 * k) %% 5 != 2),
              neither = rest, neither_uneven = some(rest, (3 * k) %% 7 < 5), sleep_few = some(sle, (11 * j) %% 17 < 3))
alone <- list(dyestuff_one_a_year = list(d = ds$d, year = 1:30, place = as.integer(ds$Batch)), dyestuff2_one_a_year = list(d = d2$d, year = 1:30, place = as.integer(d2$Batch)),
              immer_one_a_year = list(d = imm$d[(3 * k) %% 7 < 4], year = seq_along(imm$d[(3 * k) %% 7 < 4]), place = imm$place[(3 * k) %% 7 < 4]))
## 900 places in up to 8 years by a plain generator that any language repeats exactly: x <- 16807 x mod (2^31 - 1)
state <- 20260101; uniform <- function() { state <<- (16807 * state) %% 2147483647; state / 2147483647 }
normal <- function() { s <- 0; for (t in 1:12) s <- s + uniform(); s - 6 }
years <- 8; places <- 900; ye <- sapply(1:years, function(y) normal()); big <- list(d = c(), year = c(), place = c())
for (p in 1:places) { pe <- normal(); for (y in 1:years) if (uniform() < .55) {
  big$d <- c(big$d, round(2 + 1.5 * ye[y] + pe + 2 * normal(), 3)); big$year <- c(big$year, y); big$place <- c(big$place, p) } }
cat("rows of the large set:", length(big$d), "\n")
bm <- lmerTest::lmer(d ~ 1 + (1 | year) + (1 | place), data.frame(d = big$d, year = factor(big$year), place = factor(big$place)), control = tight)
bs <- summary(bm)$coefficients; bv <- sds(bm); ST <- paste(pv("lme4"), pv("lmerTest"), "Satterthwaite")
large <- list(rows = E(length(big$d), "several_years.R", 0, tol_kind = "abs"), estimate = E(bs[1, "Estimate"], ST), std_error = E(bs[1, "Std. Error"], ST), df = E(bs[1, "df"], ST, 1e-3),
              year_sd = E(bv[["year"]], ST), place_sd = E(bv[["place"]], ST), rest_sd = E(bv[["Residual"]], ST), prediction_sd = E(sqrt(bs[1, "Std. Error"]^2 + sum(bv^2)), ST),
              shrunken_years = E(coef(bm)$year[[1]], ST), shrunken_places = E(head(coef(bm)$place[[1]], 20), ST))
doc("crossed_years", "Mean over years and places that come back, REML and Kenward-Roger; shrunken values as coef() gives them", "O. L. Davies and P. L. Goldsmith; F. R. Immer and others; G. Belenky and others; G. E. P. Box and G. C. Tiao",
    "1972; 1934; 2003; 1973", "lme4::Penicillin less 23, MASS::immer (Y1 - Y2), lme4::sleepstudy ((Reaction - 300) / 10), lme4::Dyestuff and Dyestuff2 as in years_held; no_years and neither: immer with those effects taken out; large: the generator of several_years.R, seed 20260101",
    c(cases, alone, list(large = list(seed = u(20260101), years = u(years), places = u(places), share = u(.55), mean = u(2), year_sd = u(1.5), place_sd = u(1), rest_sd = u(2)))),
    c(lapply(cases, crossed), lapply(alone, crossed, years = FALSE), list(large = large)))

## ---- does it depend on x? years fixed, and years random
depends <- function(s, level = .95) {
  x <- data.frame(d = s$d, year = factor(s$year), x = as.numeric(s$x)); f <- lm(d ~ year + x, x); b <- coef(f)[["x"]]; ci <- confint(f, "x", level)
  src <- paste(VER, "lm(d ~ year + x); without and with: predict() at x 0 and 1, averaged over the field-years")
  m <- fitted_by(d ~ x + (1 | year), x); V <- vcovAdj(m); se <- sqrt(V[2, 2]); df <- get_Lb_ddf(m, c(0, 1)); r <- fixef(m)[[2]]; t <- qt((1 + level) / 2, df)
  list(without = E(mean(predict(f, transform(x, x = 0))), src, 1e-8), with = E(mean(predict(f, transform(x, x = 1))), src, 1e-8), difference = E(b, src, 1e-8),
       std_error = E(summary(f)$coefficients["x", 2], src, 1e-8), df = E(df.residual(f), src, 0, tol_kind = "abs"), low = E(ci[1], src, 1e-8), high = E(ci[2], src, 1e-8), p = E(summary(f)$coefficients["x", 4], src, 1e-7),
       random = list(without = E(fixef(m)[[1]], MIXED), with = E(sum(fixef(m)), MIXED), difference = E(r, MIXED), std_error = E(se, MIXED), df = E(df, MIXED), low = E(r - t * se, MIXED), high = E(r + t * se, MIXED),
                     p = E(2 * pt(-abs(r) / se, df), MIXED), year_sd = E(sds(m)[["year"]], MIXED)))
}
np <- datasets::npk; npk <- list(d = np$yield - 55, year = as.integer(np$block), x = np$N == "1")
tg <- datasets::ToothGrowth; tooth <- list(d = tg$len - 18, year = as.integer(factor(tg$dose)), x = tg$supp == "OJ")
wool <- list(d = sd_$breaks - 28, year = as.integer(sd_$tension), x = sd_$wool == "B")
a <- seq_along(tooth$d); b <- seq_along(wool$d); e <- seq_along(npk$d)
flat <- list(d = round(resid(lm(d ~ factor(year), data.frame(npk))), 3), year = npk$year, x = npk$x)
moderators <- list(npk = npk, npk_no_blocks = flat, npk_no_blocks_uneven = some(flat, !(e %in% c(1, 2, 6, 9, 16, 20, 21, 22))), npk_uneven = some(npk, !(e %in% c(1, 2, 6, 9, 16, 20, 21, 22))), tooth_uneven = some(tooth, (7 * a) %% 11 < 4), wool_uneven = some(wool, (5 * b) %% 13 < 6))
doc("depends_on_x", "A difference that depends on yes or no, years fixed and years random", "F. Yates; C. I. Bliss; L. H. C. Tippett", "1937; 1952; 1950", "datasets::npk (yield - 55, block as year, N as x), ToothGrowth (len - 18, dose as year), warpbreaks (breaks - 28, tension as year); no_blocks: their means taken out; uneven: some rows left out",
    moderators, lapply(moderators, depends))

## ---- starting from a prior: mu ~ normal(0, A), tau ~ half-normal(B), s_w with density 1 / s_w, by integrate() twice over
start <- function(s, B = 2) {
  n <- as.numeric(tapply(s$d, s$year, length)); m <- as.numeric(tapply(s$d, s$year, mean)); N <- length(s$d); Y <- length(n); df <- N - Y
  S <- sum((s$d - ave(s$d, s$year))^2)
  given <- function(tau, s2, A) { v <- outer(tau^2, s2 / n, "+"); W <- rowSums(1 / v); a <- as.vector((1 / v) %*% m) / W; D <- 1 / W + A^2  # tau: many at once
    list(log = -(rowSums(log(v)) + rowSums((matrix(m, length(tau), Y, TRUE) - a)^2 / v) + log(W * D) + a^2 / D) / 2 - tau^2 / B^2 / 2, mean = W * a / (W + A^-2), var = 1 / (W + A^-2)) }
  answer <- function(A) {
    coarse <- exp(seq(-8, 2.5, .02)); c0 <- log(S / max(df, 1)) / 2
    base <- if (df > 0 && df < 20) max(sapply(c0 + seq(-2, 6, .1), function(u) max(given(coarse, exp(2 * u), A)$log) - df * u - S / exp(2 * u) / 2)) else max(given(coarse, if (df) S / df else 0, A)$log)
    over_tau <- function(f, s2, add) { top <- function(t) { g <- given(t, s2, A); exp(g$log + add - base) * f(g$mean, g$var, t^2 + s2) }
      cuts <- c(0, .1, .4, 1.2, 4, 14); sum(sapply(2:6, function(i) integrate(top, cuts[i - 1], cuts[i], rel.tol = 1e-8, abs.tol = 1e-12, subdivisions = 400)$value)) }
    whole <- function(f) if (df == 0) over_tau(f, 0, 0) else if (df >= 20) over_tau(f, S / df, 0) else {
      inner <- function(u) sapply(u, function(x) over_tau(f, exp(2 * x), -df * x - S / exp(2 * x) / 2))
      sum(sapply(list(c(-2, 0), c(0, 1.5), c(1.5, 8)), function(r) integrate(inner, c0 + r[1], c0 + r[2], rel.tol = 1e-7, abs.tol = 1e-10)$value)) }
    one <- whole(function(a, v, w) 1); below <- function(x) whole(function(a, v, w) pnorm(x, a, sqrt(v))) / one; new <- function(x) whole(function(a, v, w) pnorm(x, a, sqrt(v + w))) / one
    at <- function(g, p, r) uniroot(function(x) g(x) - p, r, tol = 1e-7)$root; src <- paste(VER, "integrate() over tau and log s_w, uniroot()"); mg <- 1
    list(mean = E(whole(function(a, v, w) a) / one, src, 1e-5, tol_kind = "abs"), low = E(at(below, .025, c(-40, 10)), src, 5e-5, tol_kind = "abs"), high = E(at(below, .975, c(-10, 40)), src, 5e-5, tol_kind = "abs"),
         new_low = E(at(new, .025, c(-80, 20)), src, 5e-5, tol_kind = "abs"), new_high = E(at(new, .975, c(-20, 80)), src, 5e-5, tol_kind = "abs"),
         above_zero = E(1 - below(0), src, 1e-5, tol_kind = "abs"), above_margin = E(1 - below(mg), src, 1e-5, tol_kind = "abs"), within_margin = E(below(mg) - below(-mg), src, 1e-5, tol_kind = "abs"), below_margin = E(below(-mg), src, 1e-5, tol_kind = "abs"))
  }
  list(stated = answer(4), doubtful = answer(2), loose = answer(10))
}
soft <- fromJSON("student_soft_seed.json")$data; oats <- fromJSON("preece_oats_9_years.json")$data
begun <- list(kiln_dried = list(d = kiln$difference / 30, year = kiln$year), soft_seed = list(d = soft$corn_difference, year = soft$year),
              oats_one_a_year = list(d = oats$difference / 3, year = oats$year), dyestuff = list(d = ds$d / 3, year = as.integer(ds$Batch)))
doc("started_from_prior", "Mean over years from a prior for mean and spread between years; margin 1, prior sd of mu 4, 2 and 10, of tau 2", "Student; D. A. Preece; O. L. Davies and P. L. Goldsmith", "1908; 1982; 1972",
    "student_kiln_dried.json (difference / 30), student_soft_seed.json (corn), preece_oats_9_years.json (difference / 3), lme4::Dyestuff as ((Yield - 1500) / 30)", begun, lapply(begun, start))

## ---- farms crossed with years: d ~ 1 + (1|farm) + (1|year) + (1|farm:year), and (1|farm:place) where places come back
group <- function(seed, farms, years, fields, share, mean, sds) {  # sds: year, farm, farm:year, place, rest; the same generator
  state <<- seed; of_year <- sapply(1:years, function(y) normal()); rows <- vector("list", farms * years * fields); r <- 0
  for (f in 1:farms) { of_farm <- normal(); of_place <- sapply(1:fields, function(k) normal())
    for (y in 1:years) { of_both <- normal(); if (uniform() < share || y == 1) for (k in 1:fields) if (uniform() < .7) {
      r <- r + 1; rows[[r]] <- c(round(mean + sds[1] * of_year[y] + sds[2] * of_farm + sds[3] * of_both + sds[4] * of_place[k] + sds[5] * normal(), 3), f, y, k) } } }
  m <- do.call(rbind, rows[seq_len(r)]); list(d = m[, 1], farm = m[, 2], year = m[, 3], place = m[, 4])
}
pooled <- function(s, large = FALSE) {
  x <- data.frame(d = s$d, farm = factor(s$farm), year = factor(s$year), cell = factor(paste(s$farm, s$year)), place = factor(paste(s$farm, if (is.null(s$place)) seq_along(s$d) else s$place)))
  formula <- if (is.null(s$place)) d ~ 1 + (1 | farm) + (1 | year) + (1 | cell) else d ~ 1 + (1 | farm) + (1 | year) + (1 | cell) + (1 | place)
  if (large) { m <- lmerTest::lmer(formula, x, control = tight); b <- summary(m)$coefficients; se <- b[1, "Std. Error"]; df <- b[1, "df"]; phi <- se^2; by <- ST; tol <- 1e-3 }
  else { m <- fitted_by(formula, x); se <- sqrt(as.numeric(vcovAdj(m))); df <- get_Lb_ddf(m, 1); phi <- as.numeric(vcov(m)); by <- paste(MIXED, "vcovAdj, get_Lb_ddf"); tol <- 1e-4 }
  v <- sds(m); r <- list(rows = E(nrow(x), "several_years.R", 0, tol_kind = "abs"), estimate = E(as.numeric(fixef(m)), by), std_error = E(se, by), df = E(df, by, tol), farm_sd = E(v[["farm"]], by), year_sd = E(v[["year"]], by),
       farm_year_sd = E(v[["cell"]], by), rest_sd = E(v[["Residual"]], by), prediction_sd = E(sqrt(se^2 + sum(v^2)), by), these_farms_model_se = E(sqrt(phi - v[["farm"]]^2 / nlevels(x$farm)), paste(by, "sqrt(vcov - farm variance / farms)")),
       shrunken_farms = E(head(coef(m)$farm[order(as.numeric(rownames(coef(m)$farm))), 1], 20), paste(MIXED, "coef")))
  if (!is.null(s$place)) r$place_sd <- E(v[["place"]], by)
  r
}
mc <- nlme::Machines; mac <- list(d = mc$score - 60, farm = as.integer(as.character(mc$Worker)), year = as.integer(mc$Machine)); o <- seq_along(mac$d)
sets <- list(machines = mac, machines_uneven = some(mac, !((5 * o) %% 17 < 4)))
made <- list(twelve_farms = list(seed = 20260102, farms = 12, years = 5, fields = 3, share = .8, mean = 1.5, sds = c(1.2, 1, .8, .6, 1.5)),
             eight_alike = list(seed = 20260103, farms = 8, years = 4, fields = 3, share = .7, mean = 0, sds = c(0, 0, 0, 0, 1)),
             six_apart = list(seed = 20260104, farms = 6, years = 3, fields = 4, share = 1, mean = 1, sds = c(.5, 2.5, .3, 0, 1)))
two_thousand <- list(seed = 20260105, farms = 2000, years = 6, fields = 3, share = .8, mean = 1.5, sds = c(1.2, 1, .8, .6, 1.5))
rows_of <- function(g) do.call(group, g)
doc("farms_and_years", "Farms crossed with years, REML with Kenward-Roger, and 2,000 farms with Satterthwaite", "G. A. Milliken and D. E. Johnson", "1992", "nlme::Machines (score - 60, worker as farm, machine as year); the others from the generator of several_years.R",
    c(sets, lapply(c(made, list(two_thousand = two_thousand)), function(g) { h <- lapply(g[1:6], u); c(h, list(sds = g$sds)) })),
    c(lapply(sets, pooled), lapply(made, function(g) pooled(rows_of(g))), list(two_thousand = pooled(rows_of(two_thousand), TRUE))))
