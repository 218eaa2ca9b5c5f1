# Maximum-likelihood fits of the breast-cosmesis data (Finkelstein and Wolfe
# 1985) with R's survreg: the columns of ../survival/breast_cosmesis_survreg.csv.
suppressPackageStartupMessages(library(survival))
d <- read.csv("../survival/breast_cosmesis.csv")
d$start <- ifelse(d$left == 0, NA, d$left) # left-censored
d$RCT <- as.numeric(d$group == "RCT")
fit <- function(set, dist, data, grouped) {
  formula <- if (grouped) Surv(start, right, type = "interval2") ~ RCT
             else Surv(start, right, type = "interval2") ~ 1
  m <- survreg(formula, data = data, dist = dist, control = survreg.control(rel.tolerance = 1e-12, maxiter = 200))
  v <- sqrt(diag(vcov(m)))
  k <- length(coef(m))
  data.frame(set = set, dist = dist,
    intercept = coef(m)[1], coefRCT = if (grouped) coef(m)[2] else NA, scale = m$scale,
    logscale_se = if (length(v) > k) v[k + 1] else NA, loglik = m$loglik[2],
    se_int = v[1], se_coef = if (grouped) v[2] else NA)
}
out <- NULL
for (dist in c("weibull", "lognormal", "loglogistic", "exponential")) {
  out <- rbind(out,
    fit("both+group", dist, d, TRUE),
    fit("RT", dist, d[d$group == "RT", ], FALSE),
    fit("RCT", dist, d[d$group == "RCT", ], FALSE),
    fit("pooled", dist, d, FALSE))
}
write.csv(format(out, digits = 15), row.names = FALSE, quote = FALSE)
