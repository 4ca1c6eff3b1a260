"use strict";
// Filters and sorts the permits. Without this script the page still shows the worst of them.
(function () {
  var data = JSON.parse(document.getElementById("data").textContent);
  var table = document.querySelector("table.permits");
  var body = table.tBodies[0];
  var heads = Array.from(table.tHead.rows[0].cells);
  var filter = document.getElementById("filter");
  var more = document.getElementById("more");
  var shownText = document.getElementById("shown");
  var order = data.rows.map(function (row, at) { return at; });
  var found = order;
  var limit = data.step;
  var sorted = { key: -1, down: false };
  var words = null;
  var compare = new Intl.Collator(undefined, { numeric: true, sensitivity: "base" }).compare;

  function finding(row) { return row[4] ? data.findings[row[4] - 1] : data.none; }

  // The columns of the table, as a value to sort by.
  function value(row, key) {
    if (key < 3) { return key === 0 ? row[0] : row[key + 1]; }
    if (key === 3) { return row[4]; }
    if (key === 4) { return row[6]; }
    if (key < 11) { return row[5][key - 5]; }
    return row[7];
  }

  function put(parent, name, text, kind) {
    var element = document.createElement(name);
    if (kind) { element.className = kind; }
    if (text !== undefined) { element.textContent = text; }
    parent.appendChild(element);
    return element;
  }

  function mark(parent, name) {
    var space = "http://www.w3.org/2000/svg";
    var svg = document.createElementNS(space, "svg");
    svg.setAttribute("class", "mark");
    svg.setAttribute("aria-hidden", "true");
    svg.setAttribute("focusable", "false");
    var use = document.createElementNS(space, "use");
    use.setAttribute("href", "#" + name);
    svg.appendChild(use);
    parent.appendChild(svg);
  }

  function tag(cell, text) {
    put(cell, "br");
    put(cell, "span", text, "tag");
  }

  function number(line, count) { put(line, "td", count, count ? "numbers" : "numbers nil"); }

  function draw(row) {
    var line = document.createElement("tr");
    var head = put(line, "th");
    head.scope = "row";
    if (row[1]) {
      head = put(head, "a");
      head.href = row[1] + ".html";
    }
    put(head, "bdi", row[0]);
    var status = put(line, "td");
    put(status, "bdi", row[2]);
    if (row[10]) { tag(status, data.inactive); }
    put(put(line, "td", undefined, "date"), "bdi", row[3]);
    var worst = put(line, "td", undefined, "worst");
    if (row[4]) { mark(worst, data.marks[row[4] - 1]); }
    worst.appendChild(document.createTextNode(finding(row)));
    if (row[9]) { tag(worst, row[9]); }
    if (row[8]) { tag(worst, data.aside + ": " + row[8]); }
    number(line, row[6]);
    row[5].forEach(function (count) { number(line, count); });
    put(line, "td", row[7], "numbers");
    return line;
  }

  function show() {
    var lines = document.createDocumentFragment();
    found.slice(0, limit).forEach(function (at) { lines.appendChild(draw(data.rows[at])); });
    body.replaceChildren(lines);
    tell();
  }

  function tell() {
    var shown = Math.min(limit, found.length);
    shownText.textContent = data.shown.replace("{shown}", shown.toLocaleString()).replace("{all}", data.rows.length.toLocaleString());
    var rest = Math.min(data.step, found.length - shown);
    more.hidden = rest <= 0;
    more.textContent = data.more.replace("{count}", rest);
  }

  function look() {
    // Made when first asked for: opening the page must not wait for it.
    words = words || data.rows.map(function (row) { return [row[0], row[2], row[3], finding(row), row[9], row[10] ? data.inactive : ""].join("\n").toLowerCase(); });
    var wanted = filter.value.trim().toLowerCase();
    found = wanted ? order.filter(function (at) { return words[at].indexOf(wanted) >= 0; }) : order;
    limit = data.step;
    show();
  }

  function sort(key) {
    // Numbers begin with the largest, texts with the first.
    sorted = sorted.key === key ? { key: key, down: !sorted.down } : { key: key, down: key > 2 };
    var turn = sorted.down ? -1 : 1;
    order = data.rows.map(function (row, at) { return at; }).sort(function (a, b) {
      var one = value(data.rows[a], key);
      var other = value(data.rows[b], key);
      var by = typeof one === "number" ? one - other : compare(one, other);
      return by ? turn * by : a - b;
    });
    heads.forEach(function (head) {
      var own = Number(head.dataset.key) === key;
      if (own) { head.setAttribute("aria-sort", sorted.down ? "descending" : "ascending"); } else { head.removeAttribute("aria-sort"); }
    });
    look();
  }

  heads.forEach(function (head) {
    var button = document.createElement("button");
    button.type = "button";
    button.textContent = head.textContent;
    head.replaceChildren(button);
    button.addEventListener("click", function () { sort(Number(head.dataset.key)); });
  });
  filter.parentElement.hidden = false;
  filter.addEventListener("input", look);
  more.addEventListener("click", function () {
    var from = limit;
    limit += data.step;
    show();
    var next = body.rows[from] && body.rows[from].querySelector("a");
    if (next) { next.focus(); }
  });
  tell();
})();
