// Lays out what the engine of the pocket page says of a page, as pocket_oracle.py lays out what the laptop says.
function drive(page) {
  const said = (wrong) => (wrong ? String(wrong) : null);
  const tried = (work, key, found) => {
    try {
      return work();
    } catch (wrong) {
      if (!(wrong instanceof Complaint)) throw wrong;
      found[key] = String(wrong);
      return null;
    }
  };
  const cells = page.rows.map(([azimuth, count, notes]) => ({ azimuth, count, notes }));
  const typed = readTyped(page.heading, cells);
  const found = {
    heading: said(typed.heading_complaint), rows: typed.rows.map((one) => said(one.complaint)), understood: typed.understood,
    csv: page.text ?? writeLog(page.heading, cells),
  };
  const log = tried(() => readLog(found.csv), "file", found);
  if (!log) return found;
  found.file = null;
  const walker = new Walker(page.walker), asked = page.asked;
  const estimate = tried(() => estimateOf(log, walker), "estimate", found);
  if (!estimate) return found;
  const { written, stations, closures } = estimate, region = stationRegion(stations, stations.last, asked.probability);
  Object.assign(found, {
    estimate: null, places: written.place, covariances: written.covariances(), stations: stations.place,
    station_covariances: stations.covariances(), region: [region.shape, ...region.center, ...region.half_widths(30).map((one) => one ** 2)],
    closures: closures.map((one) => [one.at, one.legs, one.east, one.north, one.p_value, one.verdict]),
    unexplained: estimate.unexplained.map((one) => one.at), closing: say_closures(log, closures, written.frame.unit),
    reckoning: say_reckoning(log, stations, asked.probability), table: station_table(log, stations, asked.probability),
  });
  const answer = tried(() => answerWay(estimate, asked), "way", found);
  if (!answer) return found;
  const { way, aim, square, turn, retraced } = answer, figure = way.map_figure;
  return Object.assign(found, {
    way: null, way_back: [way.from_station, way.to_station, way.azimuth_deg, way.distance, way.count], covariance: way.covariance,
    sure: [way.along, way.across, turn.look_from, turn.stop_at], center: way.region.center,
    map: figure ? [figure.azimuth_deg, figure.length_m, figure.along_m, figure.across_m] : null,
    aim: !aim || aim.kind !== "AimingOff" ? said(aim)
      : [aim.azimuth_deg, aim.count, aim.offset, aim.turn, aim.line_from, aim.line_by, aim.follow_to, aim.wrong_side_chance],
    search: !square || square.kind.endsWith("Complaint") ? said(square)
      : square.legs.map((leg) => [leg.azimuth_deg, leg.length, leg.total, leg.seen_share]),
    retraced: retraced ? [retraced.along, retraced.across, retraced.covariance] : null,
    says: say_way({ ...answer, doubt: { unexplained: [] }, unused: [] }), explains: explain_way(answer), tables: way_tables(answer),
  });
}
