// Plays a program of the sheet: the wheel over the tang, what is left to come off, the line of the program.
(function () {
  'use strict';
  var holder = document.getElementById('play-data');
  if (!holder) { return; }
  var data = JSON.parse(holder.textContent);
  var works = ['along a lane', 'spark-out', 'turning, infeed', 'lifted', 'staying at the end', 'waiting to cool', 'spindle'];
  var SPARK = 1; // the works up to this one grind
  var KEEP_EVERY = 60; // cutting steps from one kept picture of the stock to the next
  var side, time = 0, playing = 0, shown = null;

  function find(id) { return document.getElementById('play-' + id); }
  function inside(value, from, to) { return Math.min(Math.max(value, from), to); }

  // ---- reading ----

  function decode(raw) {
    var count = raw.steps.length / 8, s = raw.steps, n = count;
    var out = { raw: raw, count: n, line: new Int32Array(n), work: new Uint8Array(n), part: new Int8Array(n),
      layer: new Int32Array(n), place: new Float64Array(3 * (n + 1)), end: new Float64Array(n), text: raw.text.split(/\r?\n/) };
    var at = raw.start.slice(), line = 0, ms = 0;
    for (var k = 0; k < 3; k++) { out.place[k] = at[k] / 1000; }
    for (var i = 0; i < n; i++) {
      line += s[8 * i];
      ms += s[8 * i + 7];
      out.line[i] = line;
      out.work[i] = s[8 * i + 1];
      out.part[i] = s[8 * i + 2];
      out.layer[i] = s[8 * i + 3];
      out.end[i] = ms / 1000;
      for (k = 0; k < 3; k++) {
        at[k] += s[8 * i + 4 + k];
        out.place[3 * (i + 1) + k] = at[k] / 1000;
      }
    }
    readPasses(out);
    readHeat(out);
    out.grid = makeGrid(raw);
    out.kept = {};
    return out;
  }

  function readPasses(out) {
    var p = out.raw.passes;
    out.passes = [];
    for (var i = 0; i < p.length; i += 3) {
      out.passes.push({ from: p[i], to: p[i + 1], layer: p[i + 2], start: p[i] > 0 ? out.end[p[i] - 1] : 0, end: out.end[p[i + 1] - 1] });
    }
  }

  // The dry-run tells each pass; without it the plan tells each layer.
  function readHeat(out) {
    var h = out.raw.heat, byLine = {}, i;
    out.heat = [];
    for (i = 0; i < h.length; i += 4) { byLine[h[i]] = [h[i + 1], h[i + 2], h[i + 3]]; }
    for (i = 0; i < out.count; i++) {
      if (h.length > 0 && byLine[out.line[i]]) {
        out.heat.push([out.end[i]].concat(byLine[out.line[i]]));
      } else if (h.length === 0 && out.layer[i] >= 0 && out.work[i] <= SPARK) {
        out.heat.push([out.end[i]].concat(out.raw.layers[out.layer[i]].slice(3, 6)));
      }
    }
  }

  // ---- the tang in cells ----

  function ringBox(ring) {
    var box = [Infinity, Infinity, -Infinity, -Infinity];
    for (var i = 0; i < ring.length; i += 2) {
      box = [Math.min(box[0], ring[i]), Math.min(box[1], ring[i + 1]), Math.max(box[2], ring[i]), Math.max(box[3], ring[i + 1])];
    }
    return box;
  }

  function crossings(rings, y) {
    var xs = [];
    rings.forEach(function (ring) {
      for (var i = 0, j = ring.length - 2; i < ring.length; j = i, i += 2) {
        if ((ring[i + 1] > y) !== (ring[j + 1] > y)) {
          xs.push(ring[i] + (y - ring[i + 1]) * (ring[j] - ring[i]) / (ring[j + 1] - ring[i + 1]));
        }
      }
    });
    return xs.sort(function (a, b) { return a - b; });
  }

  // 1 for each cell whose middle lies in an odd number of rings.
  function cellsIn(grid, rings) {
    var cells = new Uint8Array(grid.nx * grid.ny);
    for (var j = 0; j < grid.ny; j++) {
      var xs = crossings(rings, grid.y + (j + 0.5) * grid.cell);
      for (var k = 0; k + 1 < xs.length; k += 2) {
        for (var i = Math.max(0, Math.ceil((xs[k] - grid.x) / grid.cell - 0.5)); i < grid.nx && grid.x + (i + 0.5) * grid.cell < xs[k + 1]; i++) {
          cells[j * grid.nx + i] = 1;
        }
      }
    }
    return cells;
  }

  function makeGrid(raw) {
    var box = ringBox(raw.tang[0]), cell = Math.max(1, (box[2] - box[0]) / 240);
    var grid = { x: box[0], y: box[1], cell: cell, nx: Math.ceil((box[2] - box[0]) / cell), ny: Math.ceil((box[3] - box[1]) / cell) };
    grid.box = box;
    grid.steel = cellsIn(grid, raw.tang);
    grid.aim = raw.hollow ? cellsIn(grid, raw.hollow) : grid.steel; // where something is to come off
    grid.row = bestRow(grid);
    return grid;
  }

  // The section runs along the row nearest the middle that holds most steel.
  function bestRow(grid) {
    var best = 0, most = -1;
    for (var j = 0; j < grid.ny; j++) {
      var steel = 0;
      for (var i = 0; i < grid.nx; i++) { steel += grid.steel[j * grid.nx + i]; }
      steel -= Math.abs(j + 0.5 - grid.ny / 2) * 0.5;
      if (steel > most) { most = steel; best = j; }
    }
    return best;
  }

  // Upper side of the blank: a plane, or as it was surveyed.
  function topAt(s, x) {
    var raw = s.raw.raw;
    if (!raw || x <= raw[0]) { return s.raw.top[0] + s.raw.top[1] * x; }
    var step = raw[2] - raw[0], i = Math.min(Math.floor((x - raw[0]) / step), raw.length / 2 - 2), part = (x - raw[2 * i]) / step;
    return raw[2 * i + 1] + part * (raw[2 * i + 3] - raw[2 * i + 1]);
  }

  function blank(s) {
    var g = s.grid, h = new Float32Array(g.nx * g.ny);
    for (var j = 0; j < g.ny; j++) {
      for (var i = 0; i < g.nx; i++) { h[j * g.nx + i] = topAt(s, g.x + (i + 0.5) * g.cell); }
    }
    return h;
  }

  function across(from, to) {
    var xs = [];
    for (var i = 0; i <= 40; i++) { xs.push(from + (to - from) * i / 40); }
    return xs;
  }

  function highest(s) {
    return Math.max.apply(null, across(s.grid.box[0], s.grid.box[2]).map(function (x) { return topAt(s, x); }));
  }

  function faceAt(s, x) {
    return x < s.raw.start_x ? Infinity : s.raw.face[0] + s.raw.face[1] * x;
  }

  // ---- grinding ----

  function lowest(a, b, from, to) {
    return Math.min(a[2] + (b[2] - a[2]) * from, a[2] + (b[2] - a[2]) * to);
  }

  // When on its way from a to b a cup is over a place, with any part of its rim, and how low it then is.
  function cupOver(a, b, x, y, outer, inner) {
    var dx = b[0] - a[0], dy = b[1] - a[1], ex = x - a[0], ey = y - a[1], length2 = dx * dx + dy * dy;
    if (length2 === 0) {
      var d = Math.hypot(ex, ey);
      return d <= outer && d >= inner ? Math.min(a[2], b[2]) : Infinity;
    }
    var middle = (ex * dx + ey * dy) / length2, off2 = ex * ex + ey * ey - middle * middle * length2;
    if (off2 > outer * outer) { return Infinity; }
    var half = Math.sqrt((outer * outer - off2) / length2), from = Math.max(0, middle - half), to = Math.min(1, middle + half);
    if (from > to) { return Infinity; }
    var hollow = off2 < inner * inner ? Math.sqrt((inner * inner - off2) / length2) : 0;
    if (from > middle - hollow && to < middle + hollow) { return Infinity; }
    return lowest(a, b, from, to);
  }

  function discOver(a, b, x, y, radius, half) {
    if (Math.abs(y - a[1]) > half && Math.abs(y - b[1]) > half) { return Infinity; }
    var dx = b[0] - a[0], slope = dx === 0 ? 0 : (b[2] - a[2]) / dx;
    var t = dx === 0 ? 0 : inside((x - radius * slope / Math.sqrt(1 + slope * slope) - a[0]) / dx, 0, 1);
    var off = x - a[0] - t * dx;
    if (Math.abs(off) >= radius) { return Infinity; }
    return a[2] + t * (b[2] - a[2]) + radius - Math.sqrt(radius * radius - off * off);
  }

  function grind(s, h, a, b) {
    var g = s.grid, w = s.raw.wheel, radius = w.diameter / 2, reachY = w.cup ? radius : w.width / 2;
    var i0 = Math.max(0, Math.floor((Math.min(a[0], b[0]) - radius - g.x) / g.cell));
    var i1 = Math.min(g.nx, Math.ceil((Math.max(a[0], b[0]) + radius - g.x) / g.cell));
    var j0 = Math.max(0, Math.floor((Math.min(a[1], b[1]) - reachY - g.y) / g.cell));
    var j1 = Math.min(g.ny, Math.ceil((Math.max(a[1], b[1]) + reachY - g.y) / g.cell));
    for (var j = j0; j < j1; j++) {
      for (var i = i0; i < i1; i++) {
        var k = j * g.nx + i;
        if (!g.steel[k]) { continue; }
        var x = g.x + (i + 0.5) * g.cell, y = g.y + (j + 0.5) * g.cell;
        var z = w.cup ? cupOver(a, b, x, y, radius, radius - w.rim) : discOver(a, b, x, y, radius, w.width / 2);
        if (h[k] > z) { h[k] = z; }
      }
    }
  }

  function placeOf(s, i, part) {
    var o = data.origins[Math.max(part, 0)], p = s.place;
    return [p[3 * i] - o[0] / 1000, p[3 * i + 1] - o[1] / 1000, p[3 * i + 2] - o[2] / 1000];
  }

  function grindStep(s, h, i, fraction) {
    var a = placeOf(s, i, s.part[i]), b = placeOf(s, i + 1, s.part[i]), high = highest(s);
    if (Math.min(a[2], b[2]) > high) { return; }
    for (var k = 0; k < 3; k++) { b[k] = a[k] + (b[k] - a[k]) * fraction; }
    grind(s, h, a, b);
  }

  // The stock of a part before step `upto`: from the nearest picture kept, on.
  function stockBefore(s, part, upto) {
    var list = s.kept[part] || (s.kept[part] = [{ step: 0, h: blank(s) }]);
    var last = list.length - 1;
    while (list[last].step > upto) { last--; }
    var h = list[last].h.slice(), cuts = 0, grow = last === list.length - 1;
    for (var i = list[last].step; i < upto; i++) {
      if (s.part[i] !== part) { continue; }
      grindStep(s, h, i, 1);
      cuts += s.work[i] <= SPARK ? 1 : 0;
      if (grow && cuts >= KEEP_EVERY) {
        list.push({ step: i + 1, h: h.slice() });
        cuts = 0;
      }
    }
    return h;
  }

  // ---- where the program is ----

  function stepAt(s, t) {
    var low = 0, high = s.count - 1;
    while (low < high) {
      var middle = (low + high) >> 1;
      if (s.end[middle] > t) { high = middle; } else { low = middle + 1; }
    }
    return low;
  }

  function stateAt(s, t) {
    var i = stepAt(s, t), from = i > 0 ? s.end[i - 1] : 0, span = s.end[i] - from;
    var fraction = span > 0 ? inside((t - from) / span, 0, 1) : 1, part = Math.max(s.part[i], 0);
    var a = placeOf(s, i, part), b = placeOf(s, i + 1, part), at = [0, 1, 2].map(function (k) { return a[k] + (b[k] - a[k]) * fraction; });
    var h = stockBefore(s, part, i), pass = -1;
    grindStep(s, h, i, fraction);
    for (var p = 0; p < s.passes.length && s.passes[p].start <= t + 1e-6; p++) { pass = p; }
    return { step: i, part: part, at: at, h: h, pass: pass };
  }

  // ---- words ----

  function number(value, decimals) {
    var text = value.toFixed(decimals);
    return /^-0\.?0*$/.test(text) ? text.slice(1) : text;
  }

  function length(mm, decimals) {
    return data.inch ? number(mm / 25.4, decimals + 1) + ' in' : number(mm, decimals) + ' mm';
  }

  function clock(t) {
    var s = Math.round(t);
    return (s >= 60 ? Math.floor(s / 60) + ' min ' : '') + (s % 60) + ' s';
  }

  function mostLeft(s, state) {
    var g = s.grid, most = 0;
    for (var k = 0; k < g.steel.length; k++) {
      if (g.aim[k]) { most = Math.max(most, state.h[k] - faceAt(s, g.x + (k % g.nx + 0.5) * g.cell)); }
    }
    return most;
  }

  function lastHeat(s, t) {
    var low = 0, high = s.heat.length;
    while (low < high) {
      var middle = (low + high) >> 1;
      if (s.heat[middle][0] > t + 1e-6) { high = middle; } else { low = middle + 1; }
    }
    return low > 0 ? s.heat[low - 1] : null;
  }

  // Worked out in degrees Celsius, told in the shop's own.
  function degrees(degC) { return number(data.inch ? degC * 1.8 + 32 : degC, 0); }
  function unit() { return data.inch ? ' \u00b0F' : ' \u00b0C'; }

  function writeWords(s, state) {
    var layer = state.pass >= 0 ? s.passes[state.pass].layer : -1, heat = lastHeat(s, time), per = data.inch ? 25.4 : 1, more = data.inch ? 1 : 0;
    find('clock').textContent = clock(time) + ' of ' + clock(s.raw.duration);
    find('time').setAttribute('aria-valuetext', clock(time) + ', line ' + s.line[state.step]);
    find('pass').textContent = (state.pass + 1) + ' of ' + s.passes.length + (data.origins.length > 1 ? ', part ' + (state.part + 1) : '');
    find('layer').textContent = layer < 0 ? '\u2013' : (layer + 1) + ' of ' + s.raw.layers.length + ', ' + s.raw.layers[layer][0] + ', ' +
      (data.inch ? number(s.raw.layers[layer][1] / 25.4, 2) + ' thou' : number(s.raw.layers[layer][1], 1) + ' \u00b5m');
    find('work').textContent = works[s.work[state.step]];
    find('place').textContent = number(state.at[0] / per, 1 + more) + ', ' + number(state.at[1] / per, 1 + more) + ', ' + number(state.at[2] / per, 3 + more) + (data.inch ? ' in' : ' mm');
    find('left').textContent = length(mostLeft(s, state), 3);
    find('heat').textContent = heat ? degrees(heat[1]) + unit() + ', with the reserve ' + degrees(heat[3]) + ' of ' + degrees(data.limit) : '\u2013';
    writeLines(s, s.line[state.step]);
  }

  function writeLines(s, line) {
    var box = find('lines'), from = inside(line - 3, 1, Math.max(1, s.text.length - 4));
    box.textContent = '';
    for (var n = from; n < from + 5 && n <= s.text.length; n++) {
      var row = document.createElement('span');
      row.textContent = n + '  ' + s.text[n - 1];
      if (n === line) { row.className = 'now'; }
      box.appendChild(row);
      box.appendChild(document.createTextNode('\n'));
    }
  }

  // ---- drawing ----

  function colour(name) { return getComputedStyle(document.documentElement).getPropertyValue('--' + name).trim(); }

  function prepare() {
    var draw = find('draw'), canvas = draw.firstChild, width = Math.max(200, draw.clientWidth), ratio = window.devicePixelRatio || 1;
    if (!canvas) {
      canvas = document.createElement('canvas');
      canvas.setAttribute('role', 'img');
      draw.appendChild(canvas);
    }
    var g = side.grid, x0 = g.box[0] - 14, x1 = g.box[2] + 26, k = width / (x1 - x0), margin = Math.min(side.raw.wheel.diameter / 2, 14);
    var view = { canvas: canvas, width: width, k: k, x0: x0, y1: g.box[3] + margin, plan: (g.box[3] - g.box[1] + 2 * margin) * k, section: 130, chart: 84 };
    view.words = 14; // room for a second line over the section
    view.height = view.plan + view.section + view.chart + 80 + view.words;
    if (canvas.width !== Math.round(width * ratio) || canvas.height !== Math.round(view.height * ratio)) {
      canvas.width = Math.round(width * ratio);
      canvas.height = Math.round(view.height * ratio);
      canvas.style.height = view.height + 'px';
    }
    view.c = canvas.getContext('2d');
    view.c.setTransform(ratio, 0, 0, ratio, 0, 0);
    view.c.clearRect(0, 0, width, view.height);
    view.c.font = '12px ' + getComputedStyle(draw).fontFamily;
    return view;
  }

  function clipTo(view, y, height) {
    view.c.save();
    view.c.beginPath();
    view.c.rect(0, y, view.width, height);
    view.c.clip();
  }

  function ringPath(view, rings) {
    var c = view.c;
    c.beginPath();
    rings.forEach(function (ring) {
      for (var i = 0; i < ring.length; i += 2) {
        c[i ? 'lineTo' : 'moveTo']((ring[i] - view.x0) * view.k, 18 + (view.y1 - ring[i + 1]) * view.k);
      }
      c.closePath();
    });
  }

  function drawLeft(view, s, state) {
    var g = s.grid, c = view.c, most = 1e-9, k, x;
    for (k = 0; k < g.steel.length; k++) {
      x = g.x + (k % g.nx + 0.5) * g.cell;
      if (g.aim[k]) { most = Math.max(most, topAt(s, x) - faceAt(s, x)); }
    }
    c.fillStyle = colour('blue');
    for (k = 0; k < g.steel.length; k++) {
      x = g.x + (k % g.nx + 0.5) * g.cell;
      var left = state.h[k] - faceAt(s, x);
      if (!g.aim[k] || !(left > 5e-4)) { continue; }
      var column = k % g.nx, row = Math.floor(k / g.nx);
      var from = Math.round((g.x + column * g.cell - view.x0) * view.k), to = Math.round((g.x + (column + 1) * g.cell - view.x0) * view.k);
      var high = Math.round(18 + (view.y1 - g.y - (row + 1) * g.cell) * view.k), low = Math.round(18 + (view.y1 - g.y - row * g.cell) * view.k);
      c.globalAlpha = 0.12 + 0.75 * Math.min(1, left / most);
      c.fillRect(from, high, to - from, low - high);
    }
    c.globalAlpha = 1;
  }

  function drawPath(view, s, state) {
    var c = view.c, layer = s.layer[state.step], i = state.step;
    while (i > 0 && s.layer[i - 1] === layer && s.part[i - 1] === s.part[state.step] && state.step - i < 400) { i--; }
    c.strokeStyle = colour('red');
    c.lineWidth = 1.5;
    c.beginPath();
    for (; i <= state.step; i++) {
      var a = placeOf(s, i, state.part), b = i === state.step ? state.at : placeOf(s, i + 1, state.part);
      if (s.work[i] > SPARK) { continue; }
      c.moveTo((a[0] - view.x0) * view.k, 18 + (view.y1 - a[1]) * view.k);
      c.lineTo((b[0] - view.x0) * view.k, 18 + (view.y1 - b[1]) * view.k);
    }
    c.stroke();
  }

  function drawWheelAbove(view, state) {
    var c = view.c, w = side.raw.wheel, x = (state.at[0] - view.x0) * view.k, y = 18 + (view.y1 - state.at[1]) * view.k;
    c.strokeStyle = colour('ink');
    c.lineWidth = 1.2;
    c.beginPath();
    if (w.cup) {
      c.arc(x, y, w.diameter / 2 * view.k, 0, 2 * Math.PI);
      if (w.rim < w.diameter / 2) {
        c.moveTo(x + (w.diameter / 2 - w.rim) * view.k, y);
        c.arc(x, y, (w.diameter / 2 - w.rim) * view.k, 0, 2 * Math.PI);
      }
    } else {
      c.rect(x - w.diameter / 2 * view.k, y - w.width / 2 * view.k, w.diameter * view.k, w.width * view.k);
      c.moveTo(x, y - w.width / 2 * view.k);
      c.lineTo(x, y + w.width / 2 * view.k);
    }
    c.moveTo(x - 5, y);
    c.lineTo(x + 5, y);
    c.moveTo(x, y - 5);
    c.lineTo(x, y + 5);
    c.stroke();
  }

  function drawPlan(view, s, state) {
    var c = view.c;
    c.fillStyle = colour('ink');
    c.fillText('from above', 2, 12);
    clipTo(view, 18, view.plan);
    ringPath(view, s.raw.tang);
    c.fillStyle = colour('steel');
    c.fill('evenodd');
    c.save();
    c.clip('evenodd');
    drawLeft(view, s, state);
    c.restore();
    ringPath(view, s.raw.tang);
    c.strokeStyle = colour('ink');
    c.lineWidth = 1;
    c.stroke();
    drawPath(view, s, state);
    drawWheelAbove(view, state);
    c.restore();
    c.fillStyle = colour('ink');
    drawBar(view);
  }

  // A bar of 20 mm, or an inch.
  function drawBar(view) {
    var y = 18 + view.plan + 1, to = 2 + (data.inch ? 25.4 : 20) * view.k;
    line(view, [[2, y - 4], [2, y + 4]], 'ink', [], 1.5);
    line(view, [[2, y], [to, y]], 'ink', [], 1.5);
    line(view, [[to, y - 4], [to, y + 4]], 'ink', [], 1.5);
    view.c.fillText(data.inch ? '1 in' : '20 mm', to + 5, y + 4);
  }

  // Heights: the whole of what comes off fills two thirds of the section.
  function sectionScale(view, s) {
    var end = s.grid.box[2], high = highest(s), low = Math.min(s.raw.face[0], s.raw.face[0] + s.raw.face[1] * end);
    var span = Math.max(high - low, 0.05);
    return { low: low - 0.2 * span, high: high + 0.35 * span, k: view.section / (1.55 * span) };
  }

  function line(view, points, style, dash, width) {
    var c = view.c;
    c.beginPath();
    points.forEach(function (p, i) { c[i ? 'lineTo' : 'moveTo'](p[0], p[1]); });
    c.setLineDash(dash);
    c.lineWidth = width;
    c.strokeStyle = colour(style);
    c.stroke();
    c.setLineDash([]);
  }

  function drawProfile(view, s, state, y0, scale) {
    var g = s.grid, c = view.c, points = [], open = false;
    function flush() {
      if (points.length > 0) {
        c.beginPath();
        c.moveTo(points[0][0], y0 + view.section);
        points.forEach(function (p) { c.lineTo(p[0], p[1]); });
        c.lineTo(points[points.length - 1][0], y0 + view.section);
        c.fillStyle = colour('steel');
        c.fill();
        line(view, points, 'ink', [], 1.2);
      }
      points = [];
    }
    for (var i = 0; i < g.nx; i++) {
      var k = g.row * g.nx + i;
      open = g.steel[k] === 1;
      if (!open) { flush(); continue; }
      var y = y0 + (scale.high - state.h[k]) * scale.k, x = (g.x + i * g.cell - view.x0) * view.k;
      points.push([x, y], [x + g.cell * view.k, y]);
    }
    flush();
  }

  function drawWheelSide(view, state, y0, scale) {
    var c = view.c, w = side.raw.wheel, x = (state.at[0] - view.x0) * view.k, y = y0 + (scale.high - (state.at[2] - side.raw.lift)) * scale.k, r = w.diameter / 2;
    var lifted = y < y0 + 4;
    y = Math.max(y, y0 + 4);
    c.beginPath();
    if (w.cup || lifted) {
      c.moveTo(x - r * view.k, y0 - 2);
      c.lineTo(x - r * view.k, y);
      c.lineTo(x + r * view.k, y);
      c.lineTo(x + r * view.k, y0 - 2);
    } else {
      for (var i = -40; i <= 40; i++) {
        var off = r * i / 41, up = r - Math.sqrt(r * r - off * off);
        c[i > -40 ? 'lineTo' : 'moveTo'](x + off * view.k, y - up * scale.k);
      }
    }
    c.setLineDash(lifted ? [5, 4] : []);
    c.lineWidth = 1.4;
    c.strokeStyle = colour('red');
    c.stroke();
    c.setLineDash([]);
  }

  function drawSection(view, s, state) {
    var c = view.c, y0 = 18 + view.plan + 34 + view.words, scale = sectionScale(view, s), g = s.grid;
    function at(x, z) { return [(x - view.x0) * view.k, y0 + (scale.high - z) * scale.k]; }
    c.fillStyle = colour('ink');
    c.fillText('along the middle, heights \u00d7 ' + number(scale.k / view.k, 0), 2, y0 - 7 - view.words);
    c.fillText('dashed: blank and finished face', 2, y0 - 7);
    clipTo(view, y0, view.section);
    drawProfile(view, s, state, y0, scale);
    line(view, across(g.box[0], g.box[2]).map(function (x) { return at(x, topAt(s, x)); }), 'ink', [6, 4], 0.9);
    line(view, [at(s.raw.start_x, faceAt(s, s.raw.start_x)), at(g.box[2], faceAt(s, g.box[2]))], 'green', [3, 3], 1.4);
    drawWheelSide(view, state, y0, scale);
    c.restore();
  }

  function drawChart(view, s) {
    var c = view.c, y0 = 18 + view.plan + view.section + 58 + view.words, top = data.limit * 1.1, left = 30, wide = view.width - left - 6;
    s.heat.forEach(function (h) { top = Math.max(top, h[3] * 1.05); });
    function at(t, degC) { return [left + wide * t / s.raw.duration, y0 + view.chart * (1 - degC / top)]; }
    c.fillStyle = colour('ink');
    c.fillText(unit().trim() + '; dotted: with the reserve; dashed: the tang', left, y0 - 6);
    c.fillText(degrees(0), data.inch ? 8 : 14, y0 + view.chart);
    c.fillText(degrees(data.limit), 4, at(0, data.limit)[1] + 4);
    line(view, [at(0, 0), at(s.raw.duration, 0)], 'ink', [], 1);
    line(view, [at(0, data.limit), at(s.raw.duration, data.limit)], 'ink', [9, 3, 2, 3], 1);
    if (s.heat.length > 0) {
      line(view, s.heat.map(function (h) { return at(h[0], h[1]); }), 'red', [], 1.3);
      line(view, s.heat.map(function (h) { return at(h[0], h[3]); }), 'red', [1.5, 2.5], 1.3);
      line(view, s.heat.map(function (h) { return at(h[0], h[2]); }), 'blue', [6, 3], 1.3);
    }
    line(view, [at(time, 0), at(time, top)], 'ink', [], 1.6);
  }

  function show() {
    var state = stateAt(side, time), view = prepare();
    shown = state;
    drawPlan(view, side, state);
    drawSection(view, side, state);
    drawChart(view, side);
    writeWords(side, state);
    view.canvas.setAttribute('aria-label', 'Side ' + side.raw.name + ' after ' + clock(time) + ', pass ' + (state.pass + 1) + ' of ' + side.passes.length);
  }

  // ---- hands ----

  function goTo(t) {
    time = inside(t, 0, side.raw.duration);
    find('time').value = time;
    show();
  }

  function nextPass(way) {
    var ends = side.passes.map(function (p) { return p.end; }), to = way > 0 ? side.raw.duration : 0;
    for (var i = 0; i < ends.length; i++) {
      if (way > 0 && ends[i] > time + 0.02) { to = ends[i]; break; }
      if (way < 0 && ends[i] < time - 0.02) { to = ends[i]; }
    }
    goTo(to);
  }

  function stop() {
    if (playing) { cancelAnimationFrame(playing); }
    playing = 0;
    find('run').textContent = 'Play';
  }

  function play() {
    var speed = Math.max(1, side.raw.duration / 60), last = performance.now();
    if (time >= side.raw.duration - 0.05) { time = 0; }
    find('run').textContent = 'Stop';
    function tick(now) {
      goTo(time + (now - last) / 1000 * speed);
      last = now;
      if (time >= side.raw.duration) { stop(); } else { playing = requestAnimationFrame(tick); }
    }
    playing = requestAnimationFrame(tick);
  }

  function choose(name) {
    var raw = data.sides.filter(function (s) { return s.name === name; })[0] || data.sides[0];
    stop();
    side = raw.decoded || (raw.decoded = decode(raw));
    var range = find('time');
    range.max = side.raw.duration;
    goTo(0);
  }

  document.getElementById('play').hidden = false;
  document.getElementById('to-play').hidden = false;
  find('time').addEventListener('input', function () { stop(); goTo(Number(this.value)); });
  // Arrow keys go a two-hundredth of the program; page keys from pass to pass.
  find('time').addEventListener('keydown', function (event) {
    var arrows = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 }, pages = { PageUp: 1, PageDown: -1 };
    if (!arrows[event.key] && !pages[event.key]) { return; }
    event.preventDefault();
    stop();
    if (pages[event.key]) { nextPass(pages[event.key]); } else { goTo(time + arrows[event.key] * Math.max(0.1, side.raw.duration / 200)); }
  });
  find('back').addEventListener('click', function () { stop(); nextPass(-1); });
  find('on').addEventListener('click', function () { stop(); nextPass(1); });
  find('run').addEventListener('click', function () { if (playing) { stop(); } else { play(); } });
  document.querySelectorAll('input[name="play-side"]').forEach(function (input) {
    input.addEventListener('change', function () { choose(this.value); });
  });
  window.addEventListener('resize', function () { if (shown) { show(); } });
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', function () { if (shown) { show(); } });
  choose(data.sides[0].name);
}());
