// Degrees <-> the paddock's own metres.
//
// A transverse Mercator centred on the paddock with scale 1 at its centre: lengths there are ground
// lengths and areas ellipsoidal areas (relative area error x²/R² ≈ 1.5e-7 at 2.5 km from the central
// meridian). A national or UTM grid would be short by up to 0.08 % and be cut by zone edges; this
// plane also crosses 180° without noticing.
//
// Krüger's series to the fourth power of the third flattening, beyond which it changes by less than a
// micrometre; coefficients as in C. Karney, "Transverse Mercator with an accuracy of a few nanometers",
// Journal of Geodesy 85 (2011), 475-485, eq. 35 and 36.
import { hypot, modulo } from "./columns";
import type { Area, Floats, Ring } from "./words";

// WGS84: semi-major axis, m, and flattening
const A_M = 6378137;
const F = 1 / 298.257223563;
const E2 = F * (2 - F);
const E = Math.sqrt(E2);
const N = F / (2 - F);
const RADIUS_M = (A_M / (1 + N)) * (1 + N ** 2 / 4 + N ** 4 / 64);
const RAD = Math.PI / 180;

/** A polynomial in n from the power `first` on. */
function series(first: number, ...terms: readonly number[]): number {
  return terms.reduce((sum, term, i) => sum + term * N ** (first + i), 0);
}

const ALPHA = [
  series(1, 1 / 2, -2 / 3, 5 / 16, 41 / 180),
  series(2, 13 / 48, -3 / 5, 557 / 1440),
  series(3, 61 / 240, -103 / 140),
  series(4, 49561 / 161280),
];
const BETA = [
  series(1, 1 / 2, -2 / 3, 37 / 96, -1 / 360),
  series(2, 1 / 48, 1 / 15, -437 / 1440),
  series(3, 17 / 480, -37 / 840),
  series(4, 4397 / 161280),
];

/** An angle brought into [-180, 180), degrees. */
export function wrapDeg(angle_deg: number): number {
  return modulo(angle_deg + 180, 360) - 180;
}

/** A local plane: x east, y north, metres from `lat0_deg`, `lon0_deg` (WGS84). */
export class Plane {
  readonly lat0_deg: number;
  readonly lon0_deg: number;
  private readonly north0_m: number;

  constructor(lat0_deg: number, lon0_deg: number) {
    this.lat0_deg = lat0_deg;
    this.lon0_deg = lon0_deg;
    this.north0_m = project(lat0_deg * RAD, 0)[1];
  }

  /**
   * The plane centred on the middle of the given positions, degrees. Longitudes may lie on both sides
   * of 180°.
   */
  static around(lon_deg: ArrayLike<number>, lat_deg: ArrayLike<number>): Plane {
    let [west, east, south, north] = [Infinity, -Infinity, Infinity, -Infinity];
    for (let i = 0; i < lon_deg.length; i++) {
      const lon = lon_deg[0] + wrapDeg(lon_deg[i] - lon_deg[0]);
      west = Math.min(west, lon);
      east = Math.max(east, lon);
      south = Math.min(south, lat_deg[i]);
      north = Math.max(north, lat_deg[i]);
    }
    return new Plane((south + north) / 2, wrapDeg((west + east) / 2));
  }

  /** Metres east and north of the centre, of one point. */
  point(lon_deg: number, lat_deg: number): [number, number] {
    const at = project(lat_deg * RAD, wrapDeg(lon_deg - this.lon0_deg) * RAD);
    at[1] -= this.north0_m;
    return at;
  }

  /** Longitude in [-180, 180) and latitude, degrees, of one point on the plane. */
  degrees(x_m: number, y_m: number): [number, number] {
    const [lat, dlon] = unproject(x_m, y_m + this.north0_m);
    return [wrapDeg(dlon / RAD + this.lon0_deg), lat / RAD];
  }

  /** Metres east and north of the centre, column by column. */
  toXy(lon_deg: Floats, lat_deg: Floats): [Floats, Floats] {
    return both(lon_deg, lat_deg, (lon, lat) => this.point(lon, lat));
  }

  /** Longitudes and latitudes, degrees, of points on the plane. */
  toDegrees(x_m: Floats, y_m: Floats): [Floats, Floats] {
    return both(x_m, y_m, (x, y) => this.degrees(x, y));
  }

  /** An area in longitude/latitude brought onto the plane. */
  areaToXy(area: Area): Area {
    return area.map((polygon) => polygon.map((ring) => each(ring, (a, b) => this.point(a, b))));
  }

  /** An area on the plane in longitude/latitude; longitudes in [-180, 180), not cut at 180°. */
  areaToDegrees(area: Area): Area {
    return area.map((polygon) => polygon.map((ring) => each(ring, (a, b) => this.degrees(a, b))));
  }
}

type Change = (a: number, b: number) => [number, number];

function both(a: Floats, b: Floats, change: Change): [Floats, Floats] {
  const first = new Float64Array(a.length);
  const second = new Float64Array(a.length);
  for (let i = 0; i < a.length; i++) {
    const at = change(a[i], b[i]);
    first[i] = at[0];
    second[i] = at[1];
  }
  return [first, second];
}

function each(ring: Ring, change: Change): Ring {
  const out = new Float64Array(ring.length);
  for (let i = 0; i < ring.length; i += 2) [out[i], out[i + 1]] = change(ring[i], ring[i + 1]);
  return out;
}

/** The tangent of the conformal latitude from that of the latitude (Karney eq. 7 to 9). */
function conformal(tau: number): number {
  const sigma = Math.sinh(E * Math.atanh((E * tau) / hypot(1, tau)));
  return tau * hypot(1, sigma) - sigma * hypot(1, tau);
}

/**
 * The sum over k of c_k sin 2kζ for ζ = ξ + iη, added to ζ (Karney eq. 11 and 35); cosines and sines of
 * multiples by recurrence.
 */
function bent(xi: number, eta: number, terms: readonly number[], sign: number): [number, number] {
  const cos = Math.cos(2 * xi);
  const sin = Math.sin(2 * xi);
  const cosh = Math.cosh(2 * eta);
  const sinh = Math.sinh(2 * eta);
  let c = 1;
  let s = 0;
  let ch = 1;
  let sh = 0;
  let x = xi;
  let y = eta;
  // plain assignments: a day of positions goes through here before the driver sees his ground again
  for (let k = 0; k < terms.length; k++) {
    const c1 = c * cos - s * sin;
    s = s * cos + c * sin;
    c = c1;
    const ch1 = ch * cosh + sh * sinh;
    sh = sh * cosh + ch * sinh;
    ch = ch1;
    x += sign * terms[k] * s * ch;
    y += sign * terms[k] * c * sh;
  }
  return [x, y];
}

/** x east of the meridian and y north of the equator, m, of latitude and longitude, radians. */
function project(lat: number, dlon: number): [number, number] {
  const tau = conformal(Math.tan(lat));
  const xi = Math.atan2(tau, Math.cos(dlon));
  const eta = Math.asinh(Math.sin(dlon) / hypot(tau, Math.cos(dlon)));
  const at = bent(xi, eta, ALPHA, 1);
  return [RADIUS_M * at[1], RADIUS_M * at[0]];
}

/** Latitude and longitude from the meridian, radians (Karney eq. 11 and 19 to 21). */
function unproject(x_m: number, y_m: number): [number, number] {
  const [xi, eta] = bent(y_m / RADIUS_M, x_m / RADIUS_M, BETA, -1);
  const goal = Math.sin(xi) / hypot(Math.sinh(eta), Math.cos(xi));
  let tau = goal;
  for (let turn = 0; turn < 5; turn++) {
    const here = conformal(tau);
    const step =
      ((goal - here) / hypot(1, here)) *
      ((1 + (1 - E2) * tau * tau) / ((1 - E2) * hypot(1, tau)));
    tau += step;
    if (Math.abs(step) < 1e-14 * Math.max(1, Math.abs(tau))) break;
  }
  return [Math.atan(tau), Math.atan2(Math.sinh(eta), Math.cos(xi))];
}
