# Turnbull's masses of the breast-cosmesis data with npsurv: the columns of
# ../survival/breast_cosmesis_turnbull.csv. Stops if our copy of the data is
# not npsurv's.
suppressPackageStartupMessages(library(npsurv))
d <- read.csv("../survival/breast_cosmesis.csv")
d$right[is.na(d$right)] <- Inf
data(cancer)
key <- function(l, r, g) sort(paste(l, r, g))
theirs <- key(cancer$L, cancer$R, as.character(cancer$group))
ours <- key(d$left, d$right, d$group)
if (!identical(theirs, ours)) stop("breast_cosmesis.csv differs from npsurv's cancer")
out <- NULL
for (group in c("RT", "RCT")) {
  m <- npsurv(as.matrix(d[d$group == group, c("left", "right")]), tol = 1e-10)
  keep <- m$f$p > 1e-6
  out <- rbind(out, data.frame(group = group, left = m$f$left[keep], right = m$f$right[keep],
    mass = m$f$p[keep], loglik = m$ll))
}
write.csv(format(out, digits = 12), row.names = FALSE, quote = FALSE)
