# SPDX-License-Identifier: GPL-3.0-or-later
# Solves readings (one JSON document a line) by other means than the project's program, in R: least and equal crosstalk in true degrees.
#
#   Rscript readings_twin.R READINGS.jsonl GAUGE_U_DEG    prints least,u_least,equal,u_equal (NA where there is none)
#
# Written from the physics alone: leaks of two axes turned by the tilt, a complex gain ratio, a scale of the log, an error of each setting; all
# unknowns by Gauss-Newton with numerical slopes and QR, uncertainties by the inverse normal matrix. Readings with both sides, balance, phase, degrees.
suppressPackageStartupMessages(library(jsonlite))
given <- commandArgs(trailingOnly = TRUE)
readings <- lapply(readLines(given[1]), fromJSON)
rad <- pi / 180
gauge_u <- max(as.numeric(given[2]) * rad, 1e-7)
logged <- sapply(readings, function(r) r$tilt_deg) * rad
n <- length(readings)

side <- function(r, name) {
  s <- r$crosstalk[[name]]$same_passage
  cross <- s$correlation * s$u_re * s$u_im
  list(q = complex(real = s$re, imaginary = s$im), whiten = solve(t(chol(matrix(c(s$u_re^2, cross, cross, s$u_im^2), 2)))))
}
rl <- lapply(readings, side, "right_into_left")
lr <- lapply(readings, side, "left_into_right")
ln_balance <- sapply(readings, function(r) r$balance_db) * log(10) / 20
phase <- sapply(readings, function(r) r$interchannel_phase_deg) * rad

# u: errors of the left and right axis (re, im each), bend of the cuts, ln |gain|, its phase, cut level, scale, errors of settings.
leaks <- function(phi, u) {
  dl <- complex(real = u[1], imaginary = u[2])
  dr <- complex(real = u[3], imaginary = u[4])
  c(sin(phi + dl + u[5]) / cos(phi + dr + u[5]), -sin(phi + dr - u[5]) / cos(phi + dl - u[5]),
    cos(phi + dl - u[5]) / cos(phi + dr + u[5]))
}
misfit <- function(u) {
  gain <- exp(complex(real = u[6], imaginary = u[7]))
  rows <- c(u[5] / (1.2 * rad), u[8] / (0.3 * log(10) / 20), (u[9] - 1) / 0.02)
  for (i in seq_len(n)) {
    x <- leaks(u[9] * logged[i] + u[9 + i], u)
    a <- rl[[i]]$q - gain * x[1]
    b <- lr[[i]]$q - x[2] / gain
    seen_phase <- Arg(exp(complex(imaginary = phase[i])) / (gain * (1 + x[1]) / (1 + x[2])))
    rows <- c(rows, rl[[i]]$whiten %*% c(Re(a), Im(a)), lr[[i]]$whiten %*% c(Re(b), Im(b)),
              (ln_balance[i] - u[6] - u[8] - log(Mod(x[3]))) / 1e-4, seen_phase / (0.2 * rad), u[9 + i] / gauge_u)
  }
  rows
}
slopes <- function(f, u) {
  step <- c(rep(1e-6, 9), rep(1e-7, n))
  sapply(seq_along(u), function(k) { d <- replace(0 * u, k, step[k]); (f(u + d) - f(u - d)) / (2 * step[k]) })
}

line <- function(z) { m <- cbind(1, logged); s <- qr.solve(m, cbind(Re(z), Im(z))); complex(real = s[, 1], imaginary = s[, 2]) }
by_rl <- line(sapply(rl, function(s) s$q))
by_lr <- line(sapply(lr, function(s) s$q))
gain <- sqrt(-by_rl[2] / by_lr[2])
if (cos(Arg(gain) - phase[1]) < 0) gain <- -gain
dl <- by_rl[1] / gain
dr <- -by_lr[1] * gain
u <- c(Re(dl), Im(dl), Re(dr), Im(dr), 0, log(Mod(gain)), Arg(gain), 0, 1, rep(0, n))
for (pass in 1:20) {
  j <- slopes(misfit, u)
  by <- apply(j, 2, function(column) sqrt(sum(column^2)))
  step <- -qr.coef(qr(sweep(j, 2, by, "/"), LAPACK = TRUE), misfit(u)) / by
  u <- u + step
  if (max(abs(step)) < 1e-13) break
}
scaled <- qr.R(qr(sweep(slopes(misfit, u), 2, by, "/")))

power <- function(phi, v, sign) { x <- Mod(leaks(phi, v)[1:2])^2; x[1] + sign * x[2] }
least_of <- function(v) {  # the root of the slope: a minimum itself is flat and found to half the digits only
  slope <- function(phi) (power(phi + 1e-5, v, 1) - power(phi - 1e-5, v, 1)) / 2e-5
  uniroot(slope, -(v[1] + v[3]) / 2 + c(-0.1, 0.1), tol = 1e-13)$root
}
equal_of <- function(v) {
  least <- least_of(v)
  grid <- least + seq(-6, 6, by = 0.02) * rad
  at <- sapply(grid, power, v, -1)
  crossing <- which(head(at, -1) * tail(at, -1) < 0)
  if (length(crossing) == 0) return(NA)
  roots <- sapply(crossing, function(i) uniroot(power, grid[i + 0:1], v, -1, tol = 1e-14)$root)
  roots[which.min(abs(roots - least))]
}
u_of <- function(f) {
  slope <- sapply(1:5, function(k) { d <- replace(0 * u, k, 1e-6); (f(u + d) - f(u - d)) / 2e-6 })
  sqrt(sum(backsolve(scaled, c(slope, rep(0, 4 + n)) / by, transpose = TRUE)^2))
}
equal <- equal_of(u)
cat(sprintf("%.9f,%.9f,%s,%s\n", least_of(u) / rad, u_of(least_of) / rad, format(equal / rad, digits = 12),
            if (is.na(equal)) "NA" else format(u_of(equal_of) / rad, digits = 12)))
