# Felt checks as ordered probit, as current-status survival and as a grid
# posterior: the values of ../survival/felt_checks_fits.csv.
suppressPackageStartupMessages({library(survival); library(ordinal); library(MASS)})
d <- read.csv("../survival/felt_checks_synthetic.csv")
d$state <- factor(d$felt, levels = c("wet", "damp", "dry"), ordered = TRUE)
d$lt <- log(d$hours)
d$dry <- as.numeric(d$felt == "dry")
out <- list()
put <- function(name, value) out[[length(out) + 1]] <<- data.frame(name = name, value = value)

m <- clm(state ~ lt, data = d, link = "probit", control = clm.control(gradTol = 1e-10))
put("clm cut damp", m$alpha[[1]]); put("clm cut dry", m$alpha[[2]])
put("clm slope", m$beta[[1]]); put("clm loglik", as.numeric(logLik(m)))
put("clm sd", 1 / m$beta[[1]])
put("clm median damp", exp(m$alpha[[1]] / m$beta[[1]])); put("clm median dry", exp(m$alpha[[2]] / m$beta[[1]]))
p <- polr(state ~ lt, data = d, method = "probit", control = list(reltol = 1e-14))
put("polr slope", p$coefficients[[1]])
put("polr cut damp", p$zeta[[1]]); put("polr cut dry", p$zeta[[2]])

s <- Surv(ifelse(d$dry == 1, NA, d$hours), ifelse(d$dry == 1, d$hours, NA), type = "interval2")
tight <- survreg.control(rel.tolerance = 1e-12, maxiter = 200)
for (dist in c("lognormal", "weibull")) {
  m <- survreg(s ~ 1, dist = dist, control = tight)
  put(paste(dist, "intercept"), coef(m)[[1]]); put(paste(dist, "scale"), m$scale); put(paste(dist, "loglik"), m$loglik[2])
}
g <- glm(dry ~ lt, family = binomial("probit"), data = d, control = list(epsilon = 1e-12, maxit = 100))
put("probit glm location", -coef(g)[[1]] / coef(g)[[2]]); put("probit glm scale", 1 / coef(g)[[2]])
g <- glm(dry ~ lt, family = binomial("cloglog"), data = d, control = list(epsilon = 1e-12, maxit = 100))
put("cloglog glm shape", coef(g)[[2]]); put("cloglog glm hours", exp(-coef(g)[[1]] / coef(g)[[2]]))

# Priors m2 ~ N(log 72, 0.5^2), log s ~ N(log 0.35, 0.4^2), m1 = m2 + log(36/84).
m2 <- seq(log(84) - 0.6, log(84) + 0.6, length.out = 401)
ls <- seq(log(0.3) - 1.2, log(0.3) + 1.2, length.out = 401)
grid <- expand.grid(m2 = m2, ls = ls)
lp <- dnorm(grid$m2, log(72), 0.5, log = TRUE) + dnorm(grid$ls, log(0.35), 0.4, log = TRUE)
sd <- exp(grid$ls)
m1 <- grid$m2 + log(36 / 84)
for (i in seq_len(nrow(d))) {
  damp <- pnorm((d$lt[i] - m1) / sd); dry <- pnorm((d$lt[i] - grid$m2) / sd)
  q <- switch(d$felt[i], wet = 1 - damp, damp = damp - dry, dry = dry)
  lp <- lp + log(pmax(q, 1e-300))
}
w <- exp(lp - max(lp)); w <- w / sum(w)
mean2 <- sum(w * grid$m2)
put("grid mean log dry", mean2); put("grid sd log dry", sqrt(sum(w * (grid$m2 - mean2)^2)))
put("grid mean log sd", sum(w * grid$ls)); put("grid mean dry hours", sum(w * exp(grid$m2)))
for (h in c(48, 72, 96, 120)) put(paste("grid dry by", h), sum(w * pnorm((log(h) - grid$m2) / sd)))
write.csv(format(do.call(rbind, out), digits = 12), row.names = FALSE, quote = FALSE)
