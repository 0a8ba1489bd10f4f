// The drawing to scale, the marks on it, and the tang edge-on. Places are in mm with y up; on the screen y goes down.

const SVG = 'http://www.w3.org/2000/svg';
const EDGE_PX = 26;
const HIGHEST_PX = 460;

export function make(name, attributes, ...inside) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  element.append(...inside);
  return element;
}

// ---- plane geometry ----

const minus = (a, b) => [a[0] - b[0], a[1] - b[1]];
export const along = (a, way, t) => [a[0] + way[0] * t, a[1] + way[1] * t];
const dot = (a, b) => a[0] * b[0] + a[1] * b[1];
export const across = (way) => [-way[1], way[0]];
export const unit = (v) => { const length = Math.hypot(v[0], v[1]); return length > 0 ? [v[0] / length, v[1] / length] : [1, 0]; };

function areaOf(points) {
  return Math.abs(points.reduce((sum, p, i) => {
    const q = points[(i + 1) % points.length];
    return sum + p[0] * q[1] - q[0] * p[1];
  }, 0)) / 2;
}

// Where the straight line through `place` along `way` crosses the ring: distances from the place, rising.
function crossings(points, place, way) {
  const normal = across(way);
  const found = [];
  points.forEach((p, i) => {
    const q = points[(i + 1) % points.length];
    const a = dot(minus(p, place), normal), b = dot(minus(q, place), normal);
    if (a < 0 === b < 0) return;
    const t = a / (a - b);
    found.push(dot(minus([p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t], place), way));
  });
  return found.sort((a, b) => a - b);
}

// The stretch of the ring across `way` that the place lies in, or lies nearest to: its middle and width; null beside the ring.
export function section(points, place, way) {
  const side = across(way);
  const cuts = crossings(points, place, side);
  let best = null;
  for (let i = 0; i + 1 < cuts.length; i += 2) {
    const off = Math.max(cuts[i], -cuts[i + 1], 0);
    if (!best || off < best.off) best = { off, width: cuts[i + 1] - cuts[i], middle: along(place, side, (cuts[i] + cuts[i + 1]) / 2) };
  }
  return best;
}

// How far the ring reaches from the place along `way`.
export function reach(points, place, way) {
  return Math.max(...points.map((p) => dot(minus(p, place), way)));
}

// The ring that a place is meant on: of the closed ones that it can be cut across, the largest.
export function ringFor(drawing) {
  const rings = drawing.lines.filter((line) => line.closed && line.points.length > 2);
  return rings.sort((a, b) => areaOf(b.points) - areaOf(a.points))[0]?.points ?? null;
}

function isInside(points, place) {
  return crossings(points, place, [1, 0]).filter((t) => t > 0).length % 2 === 1;
}

// Names of the rings that lie in no other: each could be the outline.
export function outerNames(drawing) {
  const rings = drawing.lines.filter((line) => line.closed && line.points.length > 2);
  const outer = rings.filter((ring) => !rings.some((other) => other !== ring && isInside(other.points, ring.points[0])));
  return [...new Set(outer.map((ring) => ring.name).filter(Boolean))];
}

// Which way along the ring the tang lies from a place: where its pin holes are, else towards the nearer end.
export function tangWay(drawing, points, place) {
  const way = longWay(points), back = [-way[0], -way[1]];
  const holes = drawing.lines.filter((line) => line.closed && line.points !== points && isInside(points, line.points[0]));
  const behind = holes.filter((hole) => dot(minus(hole.points[0], place), way) > 0).length;
  if (behind * 2 !== holes.length) return behind * 2 > holes.length ? way : back;
  return reach(points, place, way) <= reach(points, place, back) ? way : back;
}

// Where a start might be, for a job that names none on the steel: the middle of the whole ring.
export function middleOf(points) {
  const box = boxOf(points);
  const centre = [(box.left + box.right) / 2, (box.low + box.high) / 2];
  return section(points, centre, longWay(points))?.middle ?? centre;
}

function longWay(points) {
  const xs = points.map((p) => p[0]), ys = points.map((p) => p[1]);
  return Math.max(...xs) - Math.min(...xs) >= Math.max(...ys) - Math.min(...ys) ? [1, 0] : [0, 1];
}

// From a start, the direction of the tang's own middle: through the middle of a section far behind it.
export function middleLine(points, start, way) {
  let from = start, to = along(start, way, 10);
  for (let turn = 0; turn < 4; turn += 1) {
    const far = reach(points, from, way) * 0.85;
    const end = far > 1 ? section(points, along(from, way, far), way) : null;
    if (!end) break;
    to = end.middle;
    way = unit(minus(to, from));
    from = section(points, from, way)?.middle ?? from;
  }
  return { start: from, towards: to };
}

// ---- the view ----

function boxOf(places) {
  const xs = places.map((p) => p[0]), ys = places.map((p) => p[1]);
  return { left: Math.min(...xs), right: Math.max(...xs), low: Math.min(...ys), high: Math.max(...ys) };
}

function pathOf(view, rings, closed = true) {
  return rings.map((points) => points.map((p, i) => `${i ? 'L' : 'M'}${view.px(p).map((v) => v.toFixed(2)).join(' ')}`).join('') + (closed ? 'Z' : '')).join('');
}

// To scale, into the width that there is.
export function viewOf(svg, drawing, placement, side) {
  const places = placement ? [...placement.tang, ...placement.blade].flat() : drawing.lines.flatMap((line) => line.points);
  if (placement) for (const stop of placement[side]) if (stop.stop) places.push(...stop.plan);
  const box = boxOf(places);
  const width = svg.parentElement.clientWidth || 680;
  const scale = Math.min((width - 2 * EDGE_PX) / (box.right - box.left || 1), (HIGHEST_PX - 2 * EDGE_PX) / (box.high - box.low || 1));
  const left = (width - (box.right - box.left) * scale) / 2;
  const height = (box.high - box.low) * scale + 2 * EDGE_PX;
  svg.setAttribute('viewBox', `0 0 ${width} ${height}`);
  return {
    scale, width, height, box,
    px: (p) => [left + (p[0] - box.left) * scale, EDGE_PX + (box.high - p[1]) * scale],
    mm: (x, y) => [box.left + (x - left) / scale, box.high - (y - EDGE_PX) / scale],
  };
}

function drawLines(svg, view, drawing, choices, lengthWords) {
  for (const line of drawing.lines) {
    const choice = line.closed && choices.includes(line.name);
    const shape = make('path', { d: pathOf(view, [line.points], line.closed), class: choice ? 'ring' : 'line' });
    if (choice) {
      const box = boxOf(line.points);
      const words = `Take the ring ${line.name}, ${lengthWords(box.right - box.left)} by ${lengthWords(box.high - box.low)}`;
      shape.append(make('title', {}, words));
      for (const [key, value] of [['tabindex', '0'], ['role', 'button'], ['aria-label', words], ['data-ring', line.name]]) shape.setAttribute(key, value);
    }
    svg.append(shape);
  }
}

function drawKnife(svg, view, placement, side) {
  if (placement.blade.length) svg.append(make('path', { d: pathOf(view, placement.blade), class: 'blade', 'fill-rule': 'evenodd' }));
  svg.append(make('path', { d: pathOf(view, placement.tang), class: 'tang', 'fill-rule': 'evenodd' }));
  for (const piece of placement[side]) {
    const how = piece.stop ? { inside: ' bad', misses: ' clear' }[piece.meeting] ?? '' : '';
    const shape = make('path', { d: pathOf(view, [piece.plan]), class: piece.stop ? `stop${how}` : 'pad' });
    shape.append(make('title', {}, piece.words || piece.name));
    svg.append(shape);
  }
}

export function isUpright(placement) {
  return Math.abs(placement.butt[1] - placement.tip[1]) > Math.abs(placement.butt[0] - placement.tip[0]);
}

// Along the lower edge, where nothing is drawn; of a knife that stands up, beside its end.
function label(svg, view, place, words, upright) {
  const [x, y] = view.px(place);
  if (upright) {
    svg.append(make('text', { x: Math.min(x + 22, view.width - 30), y: y + 4, class: 'small' }, words));
    return;
  }
  const inside = Math.min(Math.max(x, 20), view.width - 20);
  svg.append(make('text', { x: inside, y: view.height - 9, class: 'small', 'text-anchor': inside < 40 ? 'start' : inside > view.width - 40 ? 'end' : 'middle' }, words));
}

// Just inside the long edge that is the spine, over the blade, or over the tang where no blade is drawn.
function labelSpine(svg, view, placement, marks) {
  if (!placement.spine || !marks) return;
  const way = unit(minus(marks.towards, marks.start));
  const at = along(marks.start, way, placement.blade.length ? -placement.ahead_mm / 3 : placement.behind_mm / 2);
  const cut = section(placement.blade[0] ?? placement.tang[0], at, way);
  if (!cut) return;
  const [x, y] = view.px(along(cut.middle, placement.spine, cut.width / 2 - 11 / view.scale));
  svg.append(make('text', { x, y: y + 4, class: 'small', 'text-anchor': 'middle' }, 'spine'));
}

function handle(view, place, name, words, shape) {
  const [x, y] = view.px(place);
  return make('g', { class: 'handle', tabindex: '0', role: 'button', 'aria-label': words, 'data-handle': name, transform: `translate(${x.toFixed(2)} ${y.toFixed(2)})` },
    make('circle', { r: 13, class: 'ring-focus' }), make('circle', { r: 7 }), make('path', { d: shape }), make('title', {}, words));
}

// The chain line of the taper axis, the line across at its start, and the two marks that can be moved.
function drawMarks(svg, view, marks) {
  if (!marks) return;
  const way = unit(minus(marks.towards, marks.start));
  const half = Math.max(marks.width / 2, 6) + 4 / view.scale;
  const [a, b] = [view.px(along(marks.start, across(way), half)), view.px(along(marks.start, across(way), -half))];
  const [c, d] = [view.px(along(marks.start, way, -8 / view.scale)), view.px(along(marks.start, way, marks.length + 8 / view.scale))];
  svg.append(make('path', { d: `M${c}L${d}`, class: 'axis' }), make('path', { d: `M${a}L${b}`, class: 'across' }));
  const turn = (Math.atan2(-way[1], way[0]) * 180) / Math.PI;
  const arrow = handle(view, marks.towards, 'towards', `Direction of the tang: through ${marks.say(marks.towards)}`, 'M-3 -4L4 0L-3 4');
  arrow.lastElementChild.previousElementSibling.setAttribute('transform', `rotate(${turn.toFixed(1)})`);
  svg.classList.toggle('proposed', Boolean(marks.proposed));
  svg.append(handle(view, marks.start, 'start', `Taper start${marks.proposed ? ', proposed: Enter takes it' : ''}: at ${marks.say(marks.start)}`, 'M-7 0H7M0 -7V7'), arrow);
}

export function draw(svg, drawing, placement, side, marks, choices, lengthWords) {
  const focused = svg.contains(document.activeElement) ? document.activeElement.dataset.handle : null;
  const view = viewOf(svg, drawing, placement, side);
  svg.replaceChildren();
  if (placement) {
    drawKnife(svg, view, placement, side);
    label(svg, view, placement.tip, placement.whole ? 'tip' : 'front', isUpright(placement));
    label(svg, view, placement.butt, 'butt', isUpright(placement));
    labelSpine(svg, view, placement, marks);
  } else {
    drawLines(svg, view, drawing, choices, lengthWords);
  }
  drawMarks(svg, view, marks);
  if (focused) svg.querySelector(`[data-handle="${focused}"]`)?.focus();
  return view;
}

// ---- edge-on ----

// Both faces of the tang, with its thickness drawn so many times larger than its length. Gives px per mm of thickness.
export function drawEdge(svg, placement, turned) {
  const width = svg.parentElement.clientWidth || 400, height = 104;
  const middle = 46, ahead = Math.min(width * 0.16, 90), room = width - ahead - 12;
  const times = Math.max(1, Math.round(58 / placement.ricasso_mm / (room / placement.behind_mm)));
  const px = (room / placement.behind_mm) * times;
  const x = (mm) => { const at = ahead + (mm / placement.behind_mm) * room; return turned ? width - at : at; };
  const half = (mm) => ((placement.ricasso_mm - ((placement.ricasso_mm - placement.butt_mm) * mm) / placement.length_mm) / 2) * px;
  const thick = (placement.ricasso_mm / 2) * px, thin = Math.max(half(placement.behind_mm), 1);
  const end = x(placement.behind_mm);
  const upper = [[turned ? width : 0, middle - thick], [x(0), middle - thick], [end, middle - thin]];
  const lower = upper.map(([a, b]) => [a, 2 * middle - b]).reverse();
  svg.setAttribute('viewBox', `0 0 ${width} ${height}`);
  svg.replaceChildren(
    make('path', { d: `M${[...upper, ...lower].join('L')}Z`, class: 'wedge' }),
    make('path', { d: `M0 ${middle}H${width}`, class: 'middle' }),
    make('path', { d: `M${x(0)} ${middle - thick - 8}V${middle + thick + 8}`, class: 'across' }),
    make('g', { class: 'grip' }, make('rect', { x: end - 14, y: middle - thin - 14, width: 28, height: 2 * thin + 28 }), make('path', { d: `M${end} ${middle - thin - 9}V${middle + thin + 9}M${end - 4} ${middle - thin - 5}l4 -4l4 4M${end - 4} ${middle + thin + 5}l4 4l4 -4` })),
    make('text', { x: width / 2, y: height - 6, 'text-anchor': 'middle', class: 'small' }, times > 1 ? `thickness drawn ${times} times as large as length` : 'to one scale'));
  return px;
}
