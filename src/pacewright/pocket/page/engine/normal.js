// The normal distribution.
//
// Quantile: M. J. Wichura, Algorithm AS 241, Applied Statistics 37 (1988). Share: the series and the continued
// fraction of the error function, M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions (1964), 7.1.6
// and 7.1.14.

const NEAR_OVER = [
  2509.0809287301227, 33430.57558358813, 67265.7709270087, 45921.95393154987,
  13731.69376550946, 1971.5909503065513, 133.14166789178438, 3.3871328727963665,
];
const NEAR_UNDER = [
  5226.495278852854, 28729.085735721943, 39307.89580009271, 21213.794301586597,
  5394.196021424751, 687.1870074920579, 42.31333070160091, 1.0,
];
const MIDDLE_OVER = [
  0.0007745450142783414, 0.022723844989269184, 0.2417807251774506, 1.2704582524523684,
  3.6478483247632045, 5.769497221460691, 4.630337846156546, 1.4234371107496835,
];
const MIDDLE_UNDER = [
  1.0507500716444169e-09, 0.0005475938084995345, 0.015198666563616457, 0.14810397642748008,
  0.6897673349851, 1.6763848301838038, 2.053191626637759, 1.0,
];
const FAR_OVER = [
  2.0103343992922881e-07, 2.7115555687434876e-05, 0.0012426609473880784, 0.026532189526576124,
  0.29656057182850487, 1.7848265399172913, 5.463784911164114, 6.657904643501103,
];
const FAR_UNDER = [
  2.0442631033899397e-15, 1.421511758316446e-07, 1.8463183175100548e-05, 0.0007868691311456133,
  0.014875361290850615, 0.1369298809227358, 0.599832206555888, 1.0,
];

const sum = (row, r) => row.reduce((total, one) => total * r + one, 0);

/** The value that a share of cases stays below. */
export function normalQuantile(share) {
  const q = share - 0.5;
  if (Math.abs(q) <= 0.425) {
    const r = 0.180625 - q * q;
    return (sum(NEAR_OVER, r) * q) / sum(NEAR_UNDER, r);
  }
  const r = Math.sqrt(-Math.log(q <= 0 ? share : 1 - share));
  const [over, under, from] = r <= 5 ? [MIDDLE_OVER, MIDDLE_UNDER, 1.6] : [FAR_OVER, FAR_UNDER, 5];
  const x = sum(over, r - from) / sum(under, r - from);
  return q < 0 ? -x : x;
}

/** The share of cases below a value. */
export function normalShare(x) {
  const beyond = upper(Math.abs(x));
  return x < 0 ? beyond : 1 - beyond;
}

/** The share above a value that is not negative. */
function upper(x) {
  if (x < 2.5) {
    let term = x, total = x;
    for (let k = 1; term > total * 1e-18 && k < 200; k += 1) {
      term *= (x * x) / (2 * k + 1);
      total += term;
    }
    return 0.5 - (Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI)) * total;
  }
  let below = 0;
  for (let k = 200; k > 0; k -= 1) below = k / (x + below);
  return Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI) / (x + below);
}
