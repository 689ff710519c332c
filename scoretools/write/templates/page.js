"use strict";
// Sorts and filters the table of demands, and opens a bar's words beside the music, explained by
// the same legend. Without this script the table stands in order of weight and the bars' words
// stand below the music, where they are printed in either case.
(() => {
  const table = document.querySelector("#demands table");
  if (table) {
    const body = table.tBodies[0];
    const first = [...body.rows];
    const key = (row, column) => {
      const cell = row.cells[column];
      return cell.dataset.sort === undefined ? cell.textContent.trim() : Number(cell.dataset.sort);
    };
    const heads = [...table.tHead.rows[0].cells];
    heads.forEach((head, column) => {
      const button = document.createElement("button");
      button.type = "button";
      button.append(...head.childNodes);
      head.append(button);
      button.addEventListener("click", () => {
        const down = head.getAttribute("aria-sort") === "ascending";
        heads.forEach((other) => other.removeAttribute("aria-sort"));
        head.setAttribute("aria-sort", down ? "descending" : "ascending");
        const sign = down ? -1 : 1;
        const sorted = [...first].sort((a, b) => {
          const [x, y] = [key(a, column), key(b, column)];
          const order = typeof x === "number" ? x - y : x.localeCompare(y, "en", { numeric: true });
          return sign * order;
        });
        body.append(...sorted);
      });
    });
    const filter = document.querySelector("#demand-filter");
    const [kind, words] = [filter.querySelector("select"), filter.querySelector("input")];
    const count = filter.querySelector("output");
    const show = () => {
      const wanted = words.value.trim().toLowerCase();
      let shown = 0;
      for (const row of first) {
        const fits = (!kind.value || row.dataset.kind === kind.value)
          && row.textContent.toLowerCase().includes(wanted);
        row.hidden = !fits;
        shown += fits;
      }
      count.textContent = `${shown} of ${first.length}`;
    };
    filter.hidden = false;
    kind.addEventListener("change", show);
    words.addEventListener("input", show);
    show();
  }
  const told = document.querySelector("#told");
  const panel = document.querySelector("#panel");
  if (told && panel) {
    told.open = false;
    const page = document.documentElement;
    let from = null;
    const close = () => {
      panel.hidden = true;
      page.style.scrollPaddingBottom = "";
      if (from) from.focus();
    };
    document.querySelectorAll("a.bar-link").forEach((link) => {
      link.addEventListener("click", (event) => {
        const bar = document.querySelector(link.getAttribute("href"));
        if (!bar) return;
        event.preventDefault();
        from = link;
        const copy = bar.cloneNode(true);
        copy.removeAttribute("id");
        const legend = told.querySelector("#told > p");
        const shown = legend ? [copy, legend.cloneNode(true)] : [copy];
        panel.querySelector("div").replaceChildren(...shown);
        panel.hidden = false;
        page.style.scrollPaddingBottom = `${panel.offsetHeight + 24}px`;
        link.scrollIntoView({ block: "nearest", inline: "nearest" });
        panel.focus({ preventScroll: true });
      });
    });
    panel.querySelector("button").addEventListener("click", close);
    let opened = false;
    addEventListener("beforeprint", () => {
      opened = told.open;
      told.open = true;
    });
    addEventListener("afterprint", () => {
      told.open = opened;
    });
    document.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && !panel.hidden) close();
    });
  }
})();
