"use strict";
// A field map that is read point by point. Layers are 16-bit numbers on grids; between the points they are interpolated by
// cubics, and the difference from the same on every second point, halved, is the error of reading.

const EMPTY = 0; // a point without a value
const STEPS = 65534; // a layer runs from its low at 1 to its high at 65535

function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...children);
  return element;
}

async function numbers(text, nx) {
  const packed = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
  const bytes = await new Response(stream).arrayBuffer();
  const view = new DataView(bytes);
  const values = new Uint16Array(bytes.byteLength / 2);
  for (let k = 0; k < values.length; k++) {
    const left = k % nx ? values[k - 1] : 0;
    const below = k >= nx ? values[k - nx] : 0;
    const corner = k % nx && k >= nx ? values[k - nx - 1] : 0;
    values[k] = view.getUint16(2 * k, true) + left + below - corner;
  }
  return values;
}

// ---- interpolation ----

function cell(position, count, stride) {
  const last = Math.floor((count - 1) / stride);
  const place = position / stride;
  const first = Math.min(Math.max(Math.floor(place), 1), last - 2) - 1;
  return [first * stride, lagrange(place - first)];
}

// weights of four points at 0, 1, 2, 3, also for a place beside the middle interval
function lagrange(t) {
  return [
    (t - 1) * (t - 2) * (t - 3) / -6, t * (t - 2) * (t - 3) / 2, t * (t - 1) * (t - 3) / -2, t * (t - 1) * (t - 2) / 6,
  ];
}

function interpolated(grid, layer, x, y, stride) {
  const [i, across] = cell((x - grid.x0) / grid.dx, grid.nx, stride);
  const [j, up] = cell((y - grid.y0) / grid.dy, grid.ny, stride);
  let sum = 0;
  for (let row = 0; row < 4; row++) {
    for (let column = 0; column < 4; column++) {
      const value = layer.values[(j + row * stride) * grid.nx + i + column * stride];
      if (value === EMPTY) return NaN;
      sum += across[column] * up[row] * value;
    }
  }
  return layer.low + (sum - 1) * (layer.high - layer.low) / STEPS;
}

function linear(grid, layer, x, y) {
  const u = (x - grid.x0) / grid.dx, v = (y - grid.y0) / grid.dy;
  const i = Math.min(Math.max(Math.floor(u), 0), grid.nx - 2), j = Math.min(Math.max(Math.floor(v), 0), grid.ny - 2);
  const s = u - i, t = v - j, at = j * grid.nx + i, values = layer.values;
  const [a, b, c, d] = [values[at], values[at + 1], values[at + grid.nx], values[at + grid.nx + 1]];
  if (!a || !b || !c || !d) return NaN;
  const sum = (a * (1 - s) + b * s) * (1 - t) + (c * (1 - s) + d * s) * t;
  return layer.low + (sum - 1) * (layer.high - layer.low) / STEPS;
}

function gridAt(grids, x, y) {
  const slack = 1e-9;
  for (let k = grids.length - 1; k >= 0; k--) {
    const g = grids[k];
    if (x >= g.x0 - slack && y >= g.y0 - slack && x <= g.x0 + (g.nx - 1) * g.dx + slack && y <= g.y0 + (g.ny - 1) * g.dy + slack) return g;
  }
  return null;
}

// what is known at a point: values in SI, each error with that of reading
function reading(data, x, y) {
  const exact = data.marks.find((mark) => mark.b !== undefined && Math.hypot(mark.x - x, mark.y - y) < 1e-9);
  if (exact) return exact;
  const grid = gridAt(data.grids, x, y);
  if (!grid) return null;
  const read = (name) => {
    const layer = grid.layers[name];
    const fine = interpolated(grid, layer, x, y, 1);
    return [fine, Math.abs(fine - interpolated(grid, layer, x, y, 2)) / 2];
  };
  const of = (name, error) => {
    const [log, off] = read(name);
    const value = Math.exp(log);
    return [value, value * (Math.expm1(off) + Math.exp(read(error)[0]))];
  };
  const [b, error] = of("b", "error");
  const share = Math.min(Math.max(read("across")[0], 0), 1);
  const formula = grid.layers.formula ? Math.exp(read("formula")[0]) : NaN;
  const indices = data.levels.map((_, k) => of(`index${k}`, `indexerror${k}`));
  return {x, y, b, error, bx: b * Math.sqrt(share), by: b * Math.sqrt(1 - share), formula, indices};
}

// ---- words ----

function plain(value, digits = 3) {
  if (!Number.isFinite(value)) return "\u2013";
  if (value === 0) return "0";
  const size = Math.floor(Math.log10(Math.abs(Number(value.toPrecision(digits)))));
  if (size < -4 || size > 6) {
    const raised = String(size).replace(/[-0-9]/g, (sign) => "\u207b\u2070\u00b9\u00b2\u00b3\u2074\u2075\u2076\u2077\u2078\u2079"["-0123456789".indexOf(sign)]);
    return `${(value / 10 ** size).toFixed(1)} \u00d7 10${raised}`.replace("-", "\u2212");
  }
  return fixed(value, digits - 1 - size);
}

function fixed(value, decimals) {
  const step = 10 ** Math.max(-decimals, 0);
  const text = (step > 1 ? Math.round(value / step) * step : value).toFixed(Math.max(decimals, 0));
  return (Number(text) === 0 ? text.replace("-", "") : text).replace("-", "\u2212");
}

// value and error with the same decimals, the error rounded up to one digit, the value to five digits at most
function withError(value, error) {
  if (!Number.isFinite(value) || !Number.isFinite(error)) return [plain(value), plain(error)];
  const digits = (size) => -Math.floor(Math.log10(size));
  const decimals = Math.min(error > 0 ? digits(error) : 9, value > 0 ? 4 + digits(value) : 9);
  if (decimals > 9) return [plain(value), plain(error, 1)];
  const step = 10 ** -decimals;
  return [fixed(value, decimals), fixed(Math.ceil(error / step - 1e-9) * step, decimals)];
}

function perCent(ratio) {
  const number = 100 * ratio, size = Math.abs(number);
  const text = fixed(number, size >= 99.95 ? 0 : size >= 0.995 ? 1 : 2);
  return (number > 0 && Number(text) !== 0 ? "+" : "") + text;
}

function verdict(data, limit, read) {
  const [value, error] = limit.index === null ? [read.b, read.error] : read.indices[limit.index];
  const name = `${limit.name} (${limit.places.join(", ")})`;
  if (!Number.isFinite(value) || !Number.isFinite(error)) return ["bad", `${name}: cannot be read here`];
  if (value + error <= limit.value) return ["good", `${name}: within as drawn, ${Math.floor(100 * (1 - (value + error) / limit.value))} % left`];
  if (value <= limit.value) return ["bad", `${name}: the limit lies within the error`];
  return ["bad", `${name}: above, ${plain(value / limit.value)} times the limit`];
}

// ---- drawing ----

function rgb(colour) {
  return [1, 3, 5].map((k) => parseInt(colour.slice(k, k + 2), 16));
}

// the stretches of the contour at zero of values on a raster, by squares
function contour(values, columns, rows, draw) {
  const cross = (a, b) => a / (a - b);
  for (let j = 0; j + 1 < rows; j++) {
    for (let i = 0; i + 1 < columns; i++) {
      const at = j * columns + i;
      const [a, b, c, d] = [values[at], values[at + 1], values[at + columns + 1], values[at + columns]];
      if (!Number.isFinite(a + b + c + d)) continue;
      const ends = [];
      if (a > 0 !== b > 0) ends.push([i + cross(a, b), j]);
      if (b > 0 !== c > 0) ends.push([i + 1, j + cross(b, c)]);
      if (d > 0 !== c > 0) ends.push([i + cross(d, c), j + 1]);
      if (a > 0 !== d > 0) ends.push([i, j + cross(a, d)]);
      for (let k = 0; k + 1 < ends.length; k += 2) draw(ends[k], ends[k + 1]);
    }
  }
}

function niceStep(span) {
  const size = 10 ** Math.floor(Math.log10(span));
  return [1, 2, 5, 10].map((step) => step * size).find((step) => span / step <= 1.01) || 10 * size;
}

// limits in three groups: those stated for this point (its receptor, the zones around it), those that a receptor taken from
// its place brings with it, and all others
function limitsAt(data, x, y, taken) {
  const here = new Set(data.marks.filter((mark) => Math.hypot(mark.x - x, mark.y - y) < 1e-9).map((mark) => mark.name));
  for (const {name, box: [x0, y0, x1, y1]} of data.zones) if (x >= x0 && x <= x1 && y >= y0 && y <= y1) here.add(name);
  const groups = {here: [], taken: [], others: []};
  for (const limit of data.limits) {
    const name = limit.places.some((place) => here.has(place)) ? "here" : limit.places.includes(taken) ? "taken" : "others";
    groups[name].push(limit);
  }
  return groups;
}

class FieldMap {
  constructor(figure, data) {
    this.data = data;
    const whole = data.grids[0];
    this.whole = {x0: whole.x0, y0: whole.y0, x1: whole.x0 + (whole.nx - 1) * whole.dx, y1: whole.y0 + (whole.ny - 1) * whole.dy};
    this.view = {...this.whole};
    this.layer = "b";
    this.point = {x: data.start[0], y: data.start[1]};
    this.taken = ""; // the receptor that the point stood on last
    this.build(figure);
    this.paths = data.solids.map((solid) => {
      const path = new Path2D();
      for (const loop of solid.loops) {
        loop.forEach(([x, y], k) => (k ? path.lineTo(x, y) : path.moveTo(x, y)));
        path.closePath();
      }
      return path;
    });
    new ResizeObserver(() => this.draw()).observe(this.frame);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.draw());
    this.moved();
  }

  build(figure) {
    const {data} = this;
    const choose = (name, value, text) => {
      const input = make("input", {type: "radio", name, value, id: `${name}-${value}`});
      input.checked = value === this.layer;
      input.addEventListener("change", () => { this.layer = value; this.draw(); });
      return make("label", {for: `${name}-${value}`}, input, ` ${text}`);
    };
    const press = (text, what, action) => {
      const button = make("button", {type: "button", title: what, "aria-label": what}, text);
      button.addEventListener("click", action);
      return button;
    };
    const layers = [choose("layer", "b", "finite element")];
    if (data.grids[0].layers.formula) layers.push(choose("layer", "formula", "line formula"), choose("layer", "difference", "difference"));
    this.canvas = make("canvas", {role: "img", "aria-label": `${data.description} Move the reading point for numbers.`});
    this.marker = make("button", {type: "button", class: "marker", "aria-describedby": "reader-help"});
    this.hover = make("div", {class: "hover", "aria-hidden": "true"});
    this.frame = make("div", {class: "frame"}, this.canvas, this.marker, this.hover);
    this.scale = make("canvas", {class: "scale", "aria-hidden": "true"});
    this.inputs = ["x", "y"].map((axis) => {
      const input = make("input", {type: "number", step: "any", id: `reader-${axis}`});
      input.addEventListener("change", () => this.move(Number(this.inputs[0].value), Number(this.inputs[1].value)));
      return input;
    });
    this.places = make("select", {id: "reader-place"}, make("option", {value: ""}, "any point"), ...data.marks.map((mark, k) => make("option", {value: k}, mark.name)));
    this.places.addEventListener("change", () => {
      const mark = data.marks[this.places.value];
      if (mark) this.move(mark.x, mark.y);
    });
    this.table = make("tbody");
    this.verdicts = make("div", {class: "limits"});
    this.spoken = make("p", {class: "unseen", "aria-live": "polite"});
    figure.append(make("div", {class: "reader"},
      make("div", {class: "controls"},
        make("fieldset", {}, make("legend", {}, "Show"), ...layers),
        make("div", {class: "buttons"}, press("+", "Zoom in about the reading point", () => this.zoom(0.5)), press("\u2212", "Zoom out", () => this.zoom(2)),
          press("All", "The whole map", () => this.show(this.whole)), press("Cables", "The cables and what bears them", () => this.show(data.close)))),
      this.frame,
      this.scale,
      make("p", {class: "note", id: "reader-help"}, "Drag the point, click or tap the map, or press arrow keys on the point (with Shift ten times as far)."),
      make("div", {class: "panel"},
        make("div", {class: "where"},
          make("label", {for: "reader-place"}, "Point "), this.places,
          make("label", {for: "reader-x"}, " x (m) "), this.inputs[0], make("label", {for: "reader-y"}, " y (m) "), this.inputs[1]),
        make("table", {}, make("caption", {}, "Reading, rms"), this.table), this.verdicts, this.spoken),
      make("p", {class: "note"}, data.note)));
    this.canvas.addEventListener("pointermove", (event) => this.hovered(event));
    this.canvas.addEventListener("pointerleave", () => { this.hover.textContent = ""; });
    this.canvas.addEventListener("click", (event) => this.move(...this.placeOf(event)));
    this.canvas.addEventListener("wheel", (event) => {
      if (!event.ctrlKey) return;
      event.preventDefault();
      this.zoom(event.deltaY > 0 ? 1.25 : 0.8, ...this.placeOf(event));
    }, {passive: false});
    this.marker.addEventListener("pointerdown", (event) => this.marker.setPointerCapture(event.pointerId));
    this.marker.addEventListener("pointermove", (event) => {
      if (this.marker.hasPointerCapture(event.pointerId)) this.move(...this.placeOf(event));
    });
    this.marker.addEventListener("keydown", (event) => {
      const way = {ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1]}[event.key];
      if (!way) return;
      event.preventDefault();
      const step = niceStep((this.view.x1 - this.view.x0) / 200) * (event.shiftKey ? 10 : 1);
      this.move(...["x", "y"].map((axis, k) => Number((this.point[axis] + way[k] * step).toFixed(6))));
    });
  }

  placeOf(event) {
    const box = this.canvas.getBoundingClientRect(), {view} = this;
    return [view.x0 + (event.clientX - box.left) / box.width * (view.x1 - view.x0), view.y1 - (event.clientY - box.top) / box.height * (view.y1 - view.y0)];
  }

  hovered(event) {
    const [x, y] = this.placeOf(event);
    const read = reading(this.data, x, y);
    const {size, symbol} = this.data.unit;
    this.hover.textContent = read && Number.isFinite(read.b) ? `${plain(read.b / size)} ${symbol} at ${fixed(x, 2)}, ${fixed(y, 2)} m` : "";
  }

  zoom(factor, x = this.point.x, y = this.point.y) {
    const {view, whole} = this;
    const least = (whole.x1 - whole.x0) / 2000;
    const width = Math.min(Math.max((view.x1 - view.x0) * factor, least), whole.x1 - whole.x0);
    this.centre(x, y, width);
  }

  centre(x, y, width) {
    const {whole} = this;
    const height = width * (whole.y1 - whole.y0) / (whole.x1 - whole.x0);
    const x0 = Math.min(Math.max(x - width / 2, whole.x0), whole.x1 - width), y0 = Math.min(Math.max(y - height / 2, whole.y0), whole.y1 - height);
    this.show({x0, y0, x1: x0 + width, y1: y0 + height});
  }

  // a rectangle, widened to the shape of the whole map
  show(view) {
    const {whole} = this;
    const shape = (whole.x1 - whole.x0) / (whole.y1 - whole.y0);
    const width = Math.min(Math.max(view.x1 - view.x0, (view.y1 - view.y0) * shape), whole.x1 - whole.x0);
    if (Math.abs(view.y1 - view.y0 - width / shape) > 1e-9 * width) return this.centre((view.x0 + view.x1) / 2, (view.y0 + view.y1) / 2, width);
    this.view = {...view};
    this.draw();
  }

  move(x, y) {
    const {whole, view} = this;
    if (!Number.isFinite(x + y)) return;
    this.point = {x: Math.min(Math.max(x, whole.x0), whole.x1), y: Math.min(Math.max(y, whole.y0), whole.y1)};
    const mark = this.data.marks.find((one) => Math.hypot(one.x - x, one.y - y) < 1e-9);
    if (mark) this.point = {x: mark.x, y: mark.y};
    const outside = this.point.x < view.x0 || this.point.x > view.x1 || this.point.y < view.y0 || this.point.y > view.y1;
    if (outside) this.centre(this.point.x, this.point.y, view.x1 - view.x0);
    this.moved();
  }

  moved() {
    const {data, point} = this;
    const read = reading(data, point.x, point.y);
    const {size, symbol} = data.unit;
    const index = data.marks.findIndex((mark) => Math.hypot(mark.x - point.x, mark.y - point.y) < 1e-9);
    this.places.value = index < 0 ? "" : index;
    this.inputs[0].value = Number(point.x.toFixed(4));
    this.inputs[1].value = Number(point.y.toFixed(4));
    const rows = [], solid = this.solidAt(point.x, point.y);
    if (read && Number.isFinite(read.b)) {
      const [value, error] = withError(read.b / size, read.error / size);
      rows.push(["B, resultant", `${value} \u00b1 ${error} ${symbol}`]);
      rows.push(["Bx", `${plain(read.bx / size)} ${symbol}`], ["By", `${plain(read.by / size)} ${symbol}`]);
      if (Number.isFinite(read.formula)) {
        rows.push(["line formula", `${plain(read.formula / size, 4)} ${symbol}`]);
        rows.push([data.difference, `${perCent(read.formula / read.b - 1)} %`]);
      }
    } else rows.push(["B, resultant", "cannot be read here"]);
    if (solid) rows.push(["place", `inside ${solid}`]);
    this.table.replaceChildren(...rows.map(([name, text]) => make("tr", {}, make("th", {scope: "row"}, name), make("td", {}, text))));
    if (index >= 0) this.taken = data.marks[index].name;
    const groups = limitsAt(data, point.x, point.y, this.taken);
    const judge = (limits) => (read ? limits.map((limit) => verdict(data, limit, read)) : []);
    const judged = [...judge(groups.here), ...judge(groups.taken)];
    this.tell([
      ["here", "Limits that hold here", judge(groups.here), data.limits.length ? "None is stated for this point." : ""],
      ["taken", `Limits of \u201c${this.taken}\u201d, if it stood here`, judge(groups.taken), ""],
      ["others", "For comparison, limits of other places", judge(groups.others).map(([, text]) => ["", text]), ""],
    ]);
    const place = `x ${fixed(point.x, 3)} m, y ${fixed(point.y, 3)} m`;
    this.marker.setAttribute("aria-label", `Reading point at ${place}`);
    this.marker.classList.toggle("above", judged.some(([tone]) => tone === "bad"));
    this.spoken.textContent = `${place}: ${rows[0][1]}. ${judged.map(([, text]) => text).join(". ")}`;
    this.placeMarker();
  }

  // each group of limits under its heading; an empty one is left out, or says so in its words
  tell(groups) {
    const shown = groups.filter(([, , judged, otherwise]) => judged.length || otherwise);
    this.verdicts.replaceChildren(...shown.flatMap(([group, heading, judged, otherwise]) => {
      const title = make("p", {class: "of", id: `reader-${group}`}, heading);
      if (!judged.length) return [title, make("p", {class: group}, otherwise)];
      const items = judged.map(([tone, text]) => make("li", {class: tone}, text));
      return [title, make("ul", {class: `verdicts ${group}`, "aria-labelledby": `reader-${group}`}, ...items)];
    }));
  }

  solidAt(x, y) {
    const pen = this.pen || (this.pen = make("canvas").getContext("2d"));
    const k = this.paths ? this.paths.findLastIndex((path) => pen.isPointInPath(path, x, y, "evenodd")) : -1;
    return k < 0 ? "" : this.data.solids[k].name;
  }

  placeMarker() {
    const {view, point} = this;
    this.marker.style.left = `${100 * (point.x - view.x0) / (view.x1 - view.x0)}%`;
    this.marker.style.top = `${100 * (view.y1 - point.y) / (view.y1 - view.y0)}%`;
  }

  // logarithm of the flux density, or the difference
  shown(grid, x, y) {
    if (this.layer !== "difference") return linear(grid, grid.layers[this.layer], x, y);
    return Math.expm1(linear(grid, grid.layers.formula, x, y) - linear(grid, grid.layers.b, x, y));
  }

  // least and largest of what is in view; of a flux density seven decades at most
  range(field) {
    if (this.layer === "difference") return [-this.data.widest, this.data.widest];
    let low = Infinity, high = -Infinity;
    for (const value of field) {
      if (value < low) low = value;
      if (value > high) high = value;
    }
    return high > low ? [Math.max(low, high - 7 * Math.LN10), high] : [high - 1, high];
  }

  draw() {
    const {canvas, view, data} = this;
    const width = this.frame.clientWidth;
    if (!width) return;
    const height = width * (view.y1 - view.y0) / (view.x1 - view.x0);
    const dense = Math.min(window.devicePixelRatio || 1, 2);
    canvas.width = Math.round(width * dense);
    canvas.height = Math.round(height * dense);
    const pen = canvas.getContext("2d");
    const columns = Math.ceil(width / 2) + 1, rows = Math.ceil(height / 2) + 1;
    const picture = new ImageData(columns, rows), field = new Float64Array(columns * rows);
    const colours = (this.layer === "difference" ? data.differences : data.colours).map(rgb);
    const indices = data.limits.map(() => new Float64Array(columns * rows));
    for (let j = 0, at = 0; j < rows; j++) {
      const y = view.y1 - j / (rows - 1) * (view.y1 - view.y0);
      for (let i = 0; i < columns; i++, at++) {
        const x = view.x0 + i / (columns - 1) * (view.x1 - view.x0);
        const grid = gridAt(data.grids, x, y) || data.grids[0];
        field[at] = this.shown(grid, x, y);
        data.limits.forEach((limit, k) => {
          const layer = limit.index === null ? grid.layers.b : grid.layers[`index${limit.index}`];
          indices[k][at] = linear(grid, layer, x, y) - Math.log(limit.value);
        });
      }
    }
    const range = this.range(field);
    field.forEach((value, at) => {
      if (!Number.isFinite(value)) return;
      const share = Math.min(Math.max((value - range[0]) / (range[1] - range[0]), 0), 1) * (colours.length - 1);
      const first = Math.min(Math.floor(share), colours.length - 2), rest = share - first;
      for (let c = 0; c < 3; c++) picture.data[4 * at + c] = colours[first][c] * (1 - rest) + colours[first + 1][c] * rest;
      picture.data[4 * at + 3] = 255;
    });
    const raster = make("canvas", {width: columns, height: rows});
    raster.getContext("2d").putImageData(picture, 0, 0);
    pen.setTransform(dense, 0, 0, dense, 0, 0);
    pen.imageSmoothingEnabled = true;
    pen.drawImage(raster, 0, 0, width, height);
    const toX = (i) => i / (columns - 1) * width, toY = (j) => j / (rows - 1) * height;
    const tops = indices.map((values) => this.line(pen, values, columns, rows, toX, toY));
    this.solids(pen, width, height);
    this.zones(pen, width, height);
    this.axes(pen, width, height);
    tops.forEach((top, k) => { if (top && top[1] > 14) this.label(`limit ${data.limits[k].name}`, top[0], top[1] - 3, "center", "bottom"); });
    this.names(pen, width, height);
    this.placeMarker();
    this.bar(width, dense, range, colours);
  }

  line(pen, values, columns, rows, toX, toY) {
    let top = null;
    pen.beginPath();
    contour(values, columns, rows, ([i, j], [k, l]) => {
      pen.moveTo(toX(i), toY(j));
      pen.lineTo(toX(k), toY(l));
      if (!top || toY(j) < top[1]) top = [toX(i), toY(j)];
    });
    for (const [style, size] of [["#fff", 3.4], ["#1d2126", 1.6]]) {
      pen.strokeStyle = style;
      pen.lineWidth = size;
      pen.stroke();
    }
    return top;
  }

  zones(pen, width, height) {
    const {view, data} = this;
    pen.setLineDash([6, 3]);
    pen.strokeStyle = "#1d2126";
    pen.lineWidth = 1.4;
    for (const {box: [x0, y0, x1, y1]} of data.zones) {
      const left = (x0 - view.x0) / (view.x1 - view.x0) * width, top = (view.y1 - y1) / (view.y1 - view.y0) * height;
      pen.strokeRect(left, top, (x1 - x0) / (view.x1 - view.x0) * width, (y1 - y0) / (view.y1 - view.y0) * height);
    }
    pen.setLineDash([]);
  }

  solids(pen, width, height) {
    const {view, data} = this;
    const sx = width / (view.x1 - view.x0), sy = height / (view.y1 - view.y0);
    pen.save();
    pen.transform(sx, 0, 0, -sy, -view.x0 * sx, view.y1 * sy);
    this.paths.forEach((path, k) => {
      pen.lineWidth = 2.6 / sx;
      pen.strokeStyle = "rgba(255, 255, 255, 0.8)";
      pen.stroke(path);
      pen.lineWidth = 1 / sx;
      pen.strokeStyle = pen.fillStyle = data.solids[k].colour;
      if (data.solids[k].filled) pen.fill(path, "evenodd");
      pen.stroke(path);
    });
    pen.restore();
  }

  axes(pen, width, height) {
    const {view} = this;
    pen.font = "11px system-ui, sans-serif";
    const label = (text, x, y, align, base) => {
      pen.textAlign = align;
      pen.textBaseline = base;
      pen.lineWidth = 3;
      pen.strokeStyle = "#fff";
      pen.strokeText(text, x, y);
      pen.fillStyle = "#1d2126";
      pen.fillText(text, x, y);
    };
    const step = niceStep((view.x1 - view.x0) / Math.max(width / 90, 3));
    const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
    pen.strokeStyle = "#1d2126";
    const ticks = (low, high) => {
      const found = [];
      for (let k = Math.ceil(low / step + 0.3); k * step < high - 0.3 * step; k++) found.push(k * step);
      return found;
    };
    for (const x of ticks(view.x0, view.x1)) {
      const at = (x - view.x0) / (view.x1 - view.x0) * width;
      pen.fillStyle = "#1d2126";
      pen.fillRect(at, height - 6, 1, 6);
      label(fixed(x, decimals), at, height - 8, "center", "bottom");
    }
    for (const y of ticks(view.y0, view.y1)) {
      const at = (view.y1 - y) / (view.y1 - view.y0) * height;
      pen.fillStyle = "#1d2126";
      pen.fillRect(0, at, 6, 1);
      label(fixed(y, decimals), 9, at, "left", "middle");
    }
    label("m", 9, height - 8, "left", "bottom");
    this.label = label;
  }

  bar(width, dense, [low, high], colours) {
    const {data} = this, {symbol} = data.unit, left = 40, long = Math.min(width - 2 * left, 420);
    this.scale.width = Math.round(width * dense);
    this.scale.height = Math.round(44 * dense);
    const pen = this.scale.getContext("2d");
    pen.setTransform(dense, 0, 0, dense, 0, 0);
    colours.forEach((colour, k) => {
      pen.fillStyle = `rgb(${colour.join()})`;
      pen.fillRect(left + k / colours.length * long, 4, long / colours.length + 1, 10);
    });
    pen.fillStyle = getComputedStyle(this.frame).color;
    pen.font = "11px system-ui, sans-serif";
    pen.textAlign = "center";
    pen.textBaseline = "top";
    let last = -Infinity;
    for (const [value, text] of this.layer === "difference" ? this.shares() : this.decades(low, high)) {
      const x = left + (value - low) / (high - low) * long;
      if (x - last < 34) continue;
      pen.fillRect(x, 14, 1, 3);
      pen.fillText(text, x, 18);
      last = x;
    }
    const what = {b: "finite element", formula: "line formula", difference: `${data.difference} (%)`}[this.layer];
    pen.fillText(this.layer === "difference" ? what : `flux density by ${what}, rms (${symbol})`, left + long / 2, 31);
  }

  shares() {
    return [-1, -0.5, 0, 0.5, 1].map((side) => [side * this.data.widest, `${side > 0 ? "+" : ""}${String(Number((100 * side * this.data.widest).toPrecision(3))).replace("-", "\u2212")}`]);
  }

  decades(low, high) {
    const {size} = this.data.unit, found = [], few = high - low < 2.5 * Math.LN10;
    for (let decade = Math.floor((low - Math.log(size)) / Math.LN10); decade <= (high - Math.log(size)) / Math.LN10; decade++) {
      for (const step of few ? [1, 2, 5] : [1]) {
        const value = Math.log(step * 10 ** decade * size);
        if (value >= low && value <= high) found.push([value, plain(step * 10 ** decade, 1)]);
      }
    }
    return found;
  }

  names(pen, width, height) {
    const {view, data} = this;
    for (const {name, box: [x0, , , y1]} of data.zones) {
      const x = (x0 - view.x0) / (view.x1 - view.x0) * width, y = (view.y1 - y1) / (view.y1 - view.y0) * height;
      if (x > 0 && x < width && y > 14 && y < height) this.label(name, x, y - 2, "left", "bottom");
    }
    for (const mark of data.marks) {
      const x = (mark.x - view.x0) / (view.x1 - view.x0) * width, y = (view.y1 - mark.y) / (view.y1 - view.y0) * height;
      if (x < 0 || x > width || y < 0 || y > height) continue;
      pen.beginPath();
      pen.arc(x, y, 4, 0, 2 * Math.PI);
      pen.fillStyle = "#fff";
      pen.strokeStyle = "#1d2126";
      pen.lineWidth = 1.5;
      pen.fill();
      pen.stroke();
      this.label(mark.name, x, y - 8, x < 60 ? "left" : x > width - 60 ? "right" : "center", "bottom");
    }
  }
}

// ---- a cursor along a line ----

function startLine(figure) {
  const data = JSON.parse(figure.querySelector("script").textContent), {size, symbol} = data.unit;
  const [left, right] = data.area, last = data.rows.length - 1, total = data.rows[last][0];
  const cursor = make("div", {class: "cursor", "aria-hidden": "true"});
  const slider = make("input", {type: "range", min: 0, max: last, value: 0, "aria-label": `Point along ${data.name}`});
  const output = make("output", {"aria-live": "polite"});
  const show = () => {
    const [distance, b, error, formula] = data.rows[slider.value];
    const [value, spread] = b === null ? ["\u2013", "\u2013"] : withError(b / size, error / size);
    const beside = formula === null || !b ? "" : `; line formula ${plain(formula / size, 4)} ${symbol} (${perCent(formula / b - 1)} %)`;
    output.textContent = `${fixed(distance, 2)} m: ${value} \u00b1 ${spread} ${symbol}${beside}`;
    slider.setAttribute("aria-valuetext", output.textContent);
    cursor.style.left = `${100 * (left + distance / total * (right - left))}%`;
  };
  slider.style.marginLeft = `calc(${100 * left}% - 8px)`;
  slider.style.width = `calc(${100 * (right - left)}% + 16px)`;
  slider.addEventListener("input", show);
  const picture = figure.querySelector(".picture");
  picture.addEventListener("pointermove", (event) => {
    const box = picture.getBoundingClientRect(), share = ((event.clientX - box.left) / box.width - left) / (right - left);
    const wanted = share * total;
    if (share < 0 || share > 1) return;
    slider.value = data.rows.reduce((best, row, k) => (Math.abs(row[0] - wanted) < Math.abs(data.rows[best][0] - wanted) ? k : best), 0);
    show();
  });
  picture.append(cursor);
  picture.after(make("div", {class: "along"}, slider, output));
  show();
}

async function start(figure) {
  const data = JSON.parse(figure.querySelector("script").textContent);
  for (const grid of data.grids) {
    for (const layer of Object.values(grid.layers)) layer.values = await numbers(layer.packed, grid.nx);
  }
  figure.readings = new FieldMap(figure, data);
  figure.readAt = (x, y) => reading(data, x, y);
  figure.classList.add("live");
  figure.readings.draw();
}

document.querySelectorAll("figure.readings.line").forEach(startLine);
for (const figure of document.querySelectorAll("figure.readings.map")) {
  start(figure).catch(() => { figure.classList.remove("live"); }); // the static figure stays
}
