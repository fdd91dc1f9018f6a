// The mean of samples taken one after another, worked out on the phone: what it says must not wait
// for a server. The same as `ventwright.uncertainty.timed_average`; a test holds one to the other.
const FEWEST = 4;
const STEADY_Z = 2.5;

const sum = (values) => {
  // Neumaier's compensated sum: long sweeps of alike numbers keep their digits.
  let total = 0;
  let lost = 0;
  for (const value of values) {
    const next = total + value;
    lost += Math.abs(total) >= Math.abs(value) ? total - next + value : value - next + total;
    total = next;
  }
  return total + lost;
};

const variance = (values, mean) => sum(values.map((v) => (v - mean) ** 2)) / (values.length - 1);

/** As how many neighbours one independent sample counts. */
function stretch(values, mean) {
  const off = values.map((v) => v - mean);
  const count = off.length;
  const whole = sum(off.map((o) => o * o));
  if (whole === 0) return 1;
  let found = 1;
  for (let lag = 1; lag < Math.floor(count / 2); lag += 1) {
    let product = 0;
    for (let i = lag; i < count; i += 1) product += off[i] * off[i - lag];
    if (product / whole <= 0) break;
    found += (2 * (1 - lag / count) * product) / whole;
  }
  return found;
}

function line(values, mean) {
  const middle = 0.5 * (values.length - 1);
  const width = sum(values.map((_, i) => (i - middle) ** 2));
  const slope = width ? sum(values.map((v, i) => (i - middle) * v)) / width : 0;
  return { slope, left: values.map((v, i) => v - mean - slope * (i - middle)) };
}

function isSteady(values, left) {
  const half = Math.floor(values.length / 2);
  const around = Math.sqrt((variance(left, 0) * stretch(left, 0)) / values.length);
  const first = sum(values.slice(0, half)) / half;
  const last = sum(values.slice(-half)) / half;
  return Math.abs(last - first) <= STEADY_Z * 2 * around + 1e-12 * Math.abs(first + last);
}

function longer(elapsed_s, u_scatter, u_step, wanted) {
  if (Math.hypot(u_scatter, u_step) <= wanted) return 0;
  const room = wanted * wanted - u_step * u_step;
  if (room <= 0) return null;
  const more_s = elapsed_s * Math.max((u_scatter * u_scatter) / room - 1, 0);
  return Number.isFinite(more_s) ? more_s : null;
}

const GAMMA = [
  676.5203681218851, -1259.1392167224028, 771.3234287776531, -176.6150291621406, 12.507343278686905,
  -0.13857109526572012, 9.984369578019572e-6, 1.5056327351493116e-7,
];

/** Logarithm of the gamma function for x ≥ 0.5, by Lanczos' series. */
function logGamma(x) {
  const t = x + 6.5;
  const series = GAMMA.reduce((total, one, i) => total + one / (x + i), 0.9999999999998099);
  return 0.5 * Math.log(2 * Math.PI) + (x - 0.5) * Math.log(t) - t + Math.log(series);
}

/** Probability that Student's t is at most t ≥ 0, by the continued fraction of the incomplete beta. */
function student(t, dof) {
  const beta = (x, rest, a, b) => {
    if (x <= 0 || rest <= 0) return x <= 0 ? 0 : 1;
    if (x > (a + 1) / (a + b + 2)) return 1 - beta(rest, x, b, a);
    const front = logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log(rest);
    const tiny = 1e-300;
    let c = 1;
    let d = 1 / Math.max(1 - ((a + b) * x) / (a + 1), tiny);
    let fraction = d;
    const take = (step) => {
      d = 1 / Math.max(1 + step * d, tiny);
      c = Math.max(1 + step / c, tiny);
      fraction *= d * c;
    };
    for (let m = 1; m < 400 && (m === 1 || Math.abs(d * c - 1) >= 1e-15); m += 1) {
      take((m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m)));
      take((-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1)));
    }
    return (Math.exp(front) * fraction) / a;
  };
  const whole = dof + t * t;
  return 1 - 0.5 * beta(dof / whole, (t * t) / whole, 0.5 * dof, 0.5);
}

/** Two-sided coverage factor for 95 %. */
export function coverageFactor(dof) {
  let low = 0;
  let high = 1;
  while (student(high, dof) < 0.975) high *= 2;
  for (let i = 0; i < 60; i += 1) {
    const middle = 0.5 * (low + high);
    if (student(middle, dof) < 0.975) low = middle;
    else high = middle;
  }
  return 0.5 * (low + high);
}

/** Mean, scatter, drift, uncertainty and time to go on, under the names the engine gives them. */
export function timedAverage(values, { interval_s, wanted_frac, resolution = 0 }) {
  const count = values.length;
  const mean = sum(values) / count;
  const { slope, left } = line(values, mean);
  const found = {
    mean, scatter_std: count > 1 ? Math.sqrt(variance(values, mean)) : null, drift: slope * (count - 1), u_std: null,
    coverage_factor: 2, independent_count: count, elapsed_s: count * interval_s, go_on_s: null, is_steady: true,
  };
  if (count < FEWEST) return found;
  found.independent_count = Math.max(count / stretch(values, mean), 2);
  const u_scatter = found.scatter_std / Math.sqrt(found.independent_count);
  const u_step = resolution / Math.sqrt(12);
  found.u_std = Math.hypot(u_scatter, u_step);
  found.coverage_factor = coverageFactor(found.independent_count - 1);
  found.go_on_s = longer(found.elapsed_s, u_scatter, u_step, (wanted_frac * Math.abs(mean)) / found.coverage_factor);
  found.is_steady = isSteady(values, left);
  return found;
}

/** Step of the display that showed these numbers: the place value of the finest last digit. */
export const stepOf = (texts) => 10 ** -Math.max(0, ...texts.map((text) => text.split(".")[1]?.length ?? 0));
