// A QR code of a text, in bytes, at the lowest level of correction: the screen is clean and near.
//
// ISO/IEC 18004:2015: 7.4 data, 7.5 correction, 7.3 placement, 7.8 masks, 7.9 format.

const CORRECTION = [7, 10, 15, 20, 26, 18, 20, 24, 30, 18, 20, 24, 26, 30, 22, 24, 28, 30, 28, 28, 28, 28, 30, 30, 26, 28,
  30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30];
const BLOCKS = [1, 1, 1, 1, 1, 2, 2, 2, 2, 4, 4, 4, 4, 4, 6, 6, 6, 6, 7, 8, 8, 9, 9, 10, 12, 12, 12, 13, 14, 15, 16, 17, 18,
  19, 19, 20, 21, 22, 24, 25];
const MASKS = [
  (x, y) => (x + y) % 2, (_, y) => y % 2, (x) => x % 3, (x, y) => (x + y) % 3, (x, y) => (Math.floor(x / 3) + Math.floor(y / 2)) % 2,
  (x, y) => ((x * y) % 2) + ((x * y) % 3), (x, y) => (((x * y) % 2) + ((x * y) % 3)) % 2, (x, y) => (((x + y) % 2) + ((x * y) % 3)) % 2,
];

function rawBits(version) {
  const align = Math.floor(version / 7) + 2, all = (16 * version + 128) * version + 64;
  return version < 2 ? all : all - ((25 * align - 10) * align - 55) - (version < 7 ? 0 : 36);
}

const dataBytes = (version) => Math.floor(rawBits(version) / 8) - CORRECTION[version - 1] * BLOCKS[version - 1];

/** The modules of a text, dark ones true; null where it is too long for any code.
 * @param {string} text @returns {{modules: boolean[][], version: number, mask: number} | null} */
export function qrCode(text) {
  const bytes = [...new TextEncoder().encode(text)];
  let version = 1;
  while (version <= 40 && bytes.length + (version < 10 ? 2 : 3) > dataBytes(version)) version += 1;
  if (version > 40) return null;
  const codewords = interleaved(filled(bytes, version), version);
  let best = null, least = Infinity;
  for (let mask = 0; mask < 8; mask += 1) {
    const modules = placed(codewords, version, mask), cost = penalty(modules);
    if (cost < least) [best, least] = [{ modules, version, mask }, cost];
  }
  return best;
}

function filled(bytes, version) {
  const bits = [];
  const put = (value, count) => { for (let k = count - 1; k >= 0; k -= 1) bits.push((value >> k) & 1); };
  put(4, 4);
  put(bytes.length, version < 10 ? 8 : 16);
  bytes.forEach((one) => put(one, 8));
  const room = dataBytes(version) * 8;
  put(0, Math.min(4, room - bits.length));
  put(0, (8 - (bits.length % 8)) % 8);
  for (let pad = 0xec; bits.length < room; pad ^= 0xec ^ 0x11) put(pad, 8);
  return Array.from({ length: room / 8 }, (_, k) => bits.slice(8 * k, 8 * k + 8).reduce((sum, bit) => sum * 2 + bit, 0));
}

function product(a, b) {
  let result = 0;
  for (let k = 7; k >= 0; k -= 1) {
    result = (result << 1) ^ ((result >>> 7) * 0x11d);
    result ^= ((b >>> k) & 1) * a;
  }
  return result;
}

function divisor(degree) {
  const result = [...new Array(degree - 1).fill(0), 1];
  let root = 1;
  for (let k = 0; k < degree; k += 1) {
    for (let j = 0; j < degree; j += 1) result[j] = product(result[j], root) ^ (result[j + 1] ?? 0);
    root = product(root, 2);
  }
  return result;
}

function remainder(data, by) {
  const result = by.map(() => 0);
  for (const one of data) {
    const factor = one ^ /** @type {number} */ (result.shift());
    result.push(0);
    by.forEach((coefficient, k) => { result[k] ^= product(coefficient, factor); });
  }
  return result;
}

function interleaved(data, version) {
  const count = BLOCKS[version - 1], length = CORRECTION[version - 1], raw = Math.floor(rawBits(version) / 8);
  const short = count - (raw % count), size = Math.floor(raw / count), by = divisor(length), blocks = [];
  for (let k = 0, at = 0; k < count; k += 1) {
    const part = data.slice(at, at + size - length + (k < short ? 0 : 1));
    at += part.length;
    blocks.push([part, remainder(part, by)]);
  }
  const mixed = [];
  for (const which of [0, 1]) {
    const longest = Math.max(...blocks.map((one) => one[which].length));
    for (let k = 0; k < longest; k += 1) blocks.forEach((one) => { if (k < one[which].length) mixed.push(one[which][k]); });
  }
  return mixed;
}

function placed(codewords, version, mask) {
  const size = 17 + 4 * version, modules = Array.from({ length: size }, () => new Array(size).fill(false));
  const fixed = Array.from({ length: size }, () => new Array(size).fill(false));
  const set = (x, y, dark) => { modules[y][x] = dark; fixed[y][x] = true; };
  drawFixed(set, size, version);
  drawFormat(set, size, mask);
  let bit = 0;
  for (let right = size - 1; right >= 1; right -= 2) {
    if (right === 6) right = 5;
    for (let k = 0; k < size; k += 1) {
      for (const x of [right, right - 1]) {
        const y = ((right + 1) & 2) === 0 ? size - 1 - k : k;
        if (!fixed[y][x]) {
          modules[y][x] = bit < codewords.length * 8 && ((codewords[bit >> 3] >> (7 - (bit & 7))) & 1) === 1;
          if (MASKS[mask](x, y) === 0) modules[y][x] = !modules[y][x];
          bit += 1;
        }
      }
    }
  }
  return modules;
}

function drawFixed(set, size, version) {
  for (let k = 0; k < size; k += 1) { set(6, k, k % 2 === 0); set(k, 6, k % 2 === 0); }
  for (const [x, y] of [[3, 3], [size - 4, 3], [3, size - 4]]) {
    for (let dy = -4; dy <= 4; dy += 1) for (let dx = -4; dx <= 4; dx += 1) {
      const far = Math.max(Math.abs(dx), Math.abs(dy));
      if (x + dx >= 0 && x + dx < size && y + dy >= 0 && y + dy < size) set(x + dx, y + dy, far !== 2 && far !== 4);
    }
  }
  const spots = alignment(version, size), last = spots.length - 1;
  spots.forEach((y, j) => spots.forEach((x, i) => {
    if ((i === 0 && j === 0) || (i === 0 && j === last) || (i === last && j === 0)) return;
    for (let dy = -2; dy <= 2; dy += 1) for (let dx = -2; dx <= 2; dx += 1) set(x + dx, y + dy, Math.max(Math.abs(dx), Math.abs(dy)) !== 1);
  }));
  if (version < 7) return;
  let rest = version;
  for (let k = 0; k < 12; k += 1) rest = (rest << 1) ^ ((rest >>> 11) * 0x1f25);
  const bits = (version << 12) | rest;
  for (let k = 0; k < 18; k += 1) {
    const dark = ((bits >>> k) & 1) === 1, a = size - 11 + (k % 3), b = Math.floor(k / 3);
    set(a, b, dark);
    set(b, a, dark);
  }
}

function alignment(version, size) {
  if (version === 1) return [];
  const count = Math.floor(version / 7) + 2, step = version === 32 ? 26 : Math.ceil((size - 13) / (count * 2 - 2)) * 2;
  return [6, ...Array.from({ length: count - 1 }, (_, k) => size - 7 - step * (count - 2 - k))];
}

function drawFormat(set, size, mask) {
  const data = (1 << 3) | mask;
  let rest = data;
  for (let k = 0; k < 10; k += 1) rest = (rest << 1) ^ ((rest >>> 9) * 0x537);
  const bits = ((data << 10) | rest) ^ 0x5412, dark = (k) => ((bits >>> k) & 1) === 1;
  for (let k = 0; k <= 5; k += 1) set(8, k, dark(k));
  set(8, 7, dark(6));
  set(8, 8, dark(7));
  set(7, 8, dark(8));
  for (let k = 9; k < 15; k += 1) set(14 - k, 8, dark(k));
  for (let k = 0; k < 8; k += 1) set(size - 1 - k, 8, dark(k));
  for (let k = 8; k < 15; k += 1) set(8, size - 15 + k, dark(k));
  set(8, size - 8, true);
}

/** How hard a code is to read, by the four rules of 7.8.3. */
function penalty(modules) {
  const size = modules.length, turned = modules[0].map((_, x) => modules.map((row) => row[x]));
  let cost = 0, darks = 0;
  for (const lines of [modules, turned]) for (const line of lines) {
    const text = line.map((one) => (one ? "1" : "0")).join("");
    for (const run of text.match(/0+|1+/g) ?? []) if (run.length >= 5) cost += run.length - 2;
    for (let at = 0; at + 11 <= size; at += 1) {
      const part = text.slice(at, at + 11);
      if (part === "10111010000" || part === "00001011101") cost += 40;
    }
  }
  for (let y = 0; y < size; y += 1) for (let x = 0; x < size; x += 1) {
    if (modules[y][x]) darks += 1;
    if (x && y && modules[y][x] === modules[y - 1][x] && modules[y][x] === modules[y][x - 1] && modules[y][x] === modules[y - 1][x - 1]) cost += 3;
  }
  return cost + 10 * Math.floor(Math.abs((100 * darks) / size ** 2 - 50) / 5);
}
