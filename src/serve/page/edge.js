// Where does the limb's edge run near a mark? The steepest change of light across the limb, by a plain search on the picture's pixels.

/** Light at a place between pixels, 0 to 255. */
function light({ data, width, height }, x, y) {
  const [col, row] = [Math.min(Math.max(x, 0), width - 1.001), Math.min(Math.max(y, 0), height - 1.001)];
  const [left, top] = [Math.floor(col), Math.floor(row)];
  const [fx, fy] = [col - left, row - top];
  const at = (dx, dy) => {
    const k = 4 * ((top + dy) * width + left + dx);
    return 0.3 * data[k] + 0.59 * data[k + 1] + 0.11 * data[k + 2];
  };
  return (1 - fy) * ((1 - fx) * at(0, 0) + fx * at(1, 0)) + fy * ((1 - fx) * at(0, 1) + fx * at(1, 1));
}

/** Along the limb the light is taken together over so many pixels either way. */
const ALONG = 4;
/** A change of light from pixel to pixel that is an edge: less is grain. */
const EDGE = 6;

/**
 * The edge nearest to `point` across the way `along` (a vector), at most `reach` pixels off; `null` where the picture shows none there.
 * `pixels` is the part of the picture around the point, from `left`, `top` on.
 */
export function snap(pixels, { left, top }, point, along, reach) {
  const long = Math.hypot(along.x, along.y);
  if (!(long > 0)) return null;
  const way = { x: along.x / long, y: along.y / long };
  const across = { x: -way.y, y: way.x };
  const mean = (off) => {
    let sum = 0;
    for (let k = -ALONG; k <= ALONG; k += 1) sum += light(pixels, point.x - left + off * across.x + k * way.x, point.y - top + off * across.y + k * way.y);
    return sum / (2 * ALONG + 1);
  };
  const from = -Math.ceil(reach);
  const lights = Array.from({ length: 2 * Math.ceil(reach) + 1 }, (_, k) => mean(from + k));
  const steep = (k) => Math.abs(lights[k + 1] - lights[k - 1]) / 2;
  let best = null;
  for (let k = 2; k < lights.length - 2; k += 1) {
    const here = steep(k);
    if (here < EDGE || here < steep(k - 1) || here <= steep(k + 1)) continue;
    // Of several edges one that is nearer is meant.
    const counts = here * (1 - 0.85 * (Math.abs(from + k) / reach));
    if (!best || counts > best.counts) best = { k, counts };
  }
  if (!best) return null;
  const [before, here, after] = [-1, 0, 1].map((by) => steep(best.k + by));
  const bend = before - 2 * here + after;
  const off = from + best.k + (bend < 0 ? Math.min(Math.max((0.5 * (before - after)) / bend, -0.5), 0.5) : 0);
  return { x: point.x + off * across.x, y: point.y + off * across.y };
}
