// How one station lies from another: over the legs that scatter least, a marker met again being one place.
import { outer, plus, times, zero, even } from "./matrix.js";
import { Reckoning } from "./reckoning.js";

/** The first station of the place of each station; null where no marker was met again. */
function placesOf(names) {
  const first = new Map();
  const places = names.map((name, k) => {
    if (!name) return k;
    if (!first.has(name)) first.set(name, k);
    return first.get(name);
  });
  return places.every((place, k) => place === k) ? null : places;
}

export function straightLegs(here, there) {
  const legs = [];
  for (let leg = here + 1; leg <= there; leg += 1) legs.push({ leg, is_back: false });
  for (let leg = here; leg > there; leg -= 1) legs.push({ leg, is_back: true });
  return legs;
}

export function findLegsBetween(reckoning, here, there) {
  const placeOf = placesOf(reckoning.names);
  if (!placeOf) return straightLegs(here, there);
  const start = placeOf[here], came = tree(reckoning, placeOf, start), legs = [];
  for (let place = placeOf[there]; place !== start;) {
    const [before, leg] = came.get(place);
    legs.push(leg);
    place = before;
  }
  return legs.reverse();
}

/** From where, and over which leg, every place is reached with the least scatter, in that order. */
function tree(reckoning, placeOf, start) {
  const cost = reckoning.own.map((one) => one[0][0] + one[1][1]), visits = new Map();
  placeOf.forEach((place, station) => visits.set(place, [...(visits.get(place) ?? []), station]));
  const best = new Map([[start, 0]]), came = new Map(), settled = new Map(), open = new Set([start]);
  const costOf = (one) => best.get(one) ?? Infinity;
  while (open.size) {
    let place = -1;
    for (const one of open) {
      if (place < 0 || costOf(one) < costOf(place) || (costOf(one) === costOf(place) && one < place)) place = one;
    }
    open.delete(place);
    if (place !== start) settled.set(place, came.get(place));
    for (const station of visits.get(place)) {
      for (const [leg, other, is_back] of [[station, station - 1, true], [station + 1, station + 1, false]]) {
        if (other < 0 || other >= placeOf.length) continue;
        const further = costOf(place) + cost[leg - 1], reached = placeOf[other];
        if (reached !== start && !settled.has(reached) && further < costOf(reached)) {
          best.set(reached, further);
          came.set(reached, [place, { leg, is_back }]);
          open.add(reached);
        }
      }
    }
  }
  return settled;
}

/** The stations as written, each counted over the surest legs from the start. */
export function cutAtMarkers(reckoning, markerSd) {
  const placeOf = placesOf(reckoning.names);
  if (!placeOf) return reckoning;
  const place = placeOf.map(() => [0, 0]), own = placeOf.map(zero);
  const levers = reckoning.shared.map(() => placeOf.map(() => [0, 0]));
  const onward = (from, at, walked) => {
    const sign = walked.is_back ? -1 : 1, [a, b] = [at[walked.leg - 1], at[walked.leg]];
    return [from[0] + sign * (b[0] - a[0]), from[1] + sign * (b[1] - a[1])];
  };
  for (const [station, [before, walked]] of tree(reckoning, placeOf, 0)) {
    place[station] = onward(place[before], reckoning.place, walked);
    own[station] = plus(own[before], reckoning.own[walked.leg - 1]);
    reckoning.shared.forEach((term, k) => { levers[k][station] = onward(levers[k][before], term.lever, walked); });
  }
  const held = placeOf.map((index, k) => {
    let total = own[index];
    reckoning.shared.forEach((term, j) => { total = plus(total, times(outer(levers[j][index], levers[j][index]), term.variance)); });
    return index === k ? total : plus(total, even(markerSd ** 2));
  });
  return new Reckoning({ ...reckoning, place: placeOf.map((index) => place[index]), held });
}

/** How one station lies from another by the legs between alone, as written. */
export function leadOverLegs(reckoning, here, there, given = null) {
  const legs = given ?? findLegsBetween(reckoning, here, there);
  const over = (at) => legs.reduce(([east, north], one) => {
    const sign = one.is_back ? -1 : 1, [a, b] = [at[one.leg - 1], at[one.leg]];
    return [east + sign * (b[0] - a[0]), north + sign * (b[1] - a[1])];
  }, [0, 0]);
  let covariance = legs.reduce((total, one) => plus(total, reckoning.own[one.leg - 1]), zero());
  const with_ground = {}, ground_variance = {}, grounds = reckoning.ground_terms;
  for (const term of reckoning.shared) {
    const lever = over(term.lever);
    covariance = plus(covariance, times(outer(lever, lever), term.variance));
    if (grounds.includes(term)) {
      with_ground[term.name] = lever.map((part) => part * term.variance);
      ground_variance[term.name] = term.variance;
    }
  }
  const [from, to] = endsOf(legs, here, there), names = reckoning.names;
  return withThere({
    from_station: from, to_station: to, from_name: names[from], to_name: names[to], step: over(reckoning.place), covariance, legs,
    is_written: true, with_ground, ground_variance,
  });
}

/** Whether the log itself says that the two are one marker. */
export function withThere(told) {
  const is_there = told.from_station === told.to_station || (told.from_name !== null && told.from_name === told.to_name);
  return { ...told, is_there };
}

function endsOf(legs, here, there) {
  if (!legs.length) return [here, there];
  const first = legs[0], last = legs[legs.length - 1];
  return [first.is_back ? first.leg : first.leg - 1, last.is_back ? last.leg - 1 : last.leg];
}
