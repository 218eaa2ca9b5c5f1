# The 6-MP leukaemia trial (Freireich and others 1963): Kaplan-Meier of the
# 6-MP arm and a Weibull fit with treatment. Stops if our copy of the data is
# not MASS's gehan.
suppressPackageStartupMessages({library(survival); library(MASS)})
d <- read.csv("../survival/gehan_6mp.csv")
if (!isTRUE(all.equal(d$time, gehan$time)) || !isTRUE(all.equal(d$cens, gehan$cens)) ||
    !identical(d$treat, as.character(gehan$treat))) stop("gehan_6mp.csv differs from MASS's gehan")
km <- summary(survfit(Surv(time, cens) ~ 1, data = d[d$treat == "6-MP", ]))
d$control <- as.numeric(d$treat == "control")
m <- survreg(Surv(time, cens) ~ control, data = d, dist = "weibull")
out <- data.frame(name = c(paste0("km ", km$time), "weibull intercept", "weibull control", "weibull scale", "weibull loglik"),
  value = c(km$surv, coef(m), m$scale, m$loglik[2]))
write.csv(format(out, digits = 12), row.names = FALSE, quote = FALSE)
