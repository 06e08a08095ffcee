// Two rows by two columns: [[ee, en], [ne, nn]].

export const zero = () => [[0, 0], [0, 0]];
export const plus = (a, b) => [[a[0][0] + b[0][0], a[0][1] + b[0][1]], [a[1][0] + b[1][0], a[1][1] + b[1][1]]];
export const minus = (a, b) => plus(a, times(b, -1));
export const times = (a, by) => [[a[0][0] * by, a[0][1] * by], [a[1][0] * by, a[1][1] * by]];
export const outer = (a, b) => [[a[0] * b[0], a[0] * b[1]], [a[1] * b[0], a[1] * b[1]]];
export const turned = (a) => [[a[0][0], a[1][0]], [a[0][1], a[1][1]]];
export const even = (by) => [[by, 0], [0, by]];
/** The variance of a covariance along a direction. */
export const along = (a, d) => d[0] * (a[0][0] * d[0] + a[0][1] * d[1]) + d[1] * (a[1][0] * d[0] + a[1][1] * d[1]);

/** The squared length of a step in the standard deviations of a covariance. */
export function distance2(step, a) {
  const det = a[0][0] * a[1][1] - a[0][1] * a[1][0];
  return (step[0] * (a[1][1] * step[0] - a[0][1] * step[1]) + step[1] * (a[0][0] * step[1] - a[1][0] * step[0])) / det;
}

/** The larger and the smaller eigenvalue. */
export function eigenvalues(a) {
  const mean = (a[0][0] + a[1][1]) / 2, half = Math.hypot((a[0][0] - a[1][1]) / 2, a[0][1]);
  return [mean + half, mean - half];
}
