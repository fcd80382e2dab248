"use strict";

// Without this script the page still says everything; it only adds sorting, filtering and unfolding.
(() => {
  const table = document.getElementById("findings-table");
  const workings = [...document.querySelectorAll("details")];

  let foldAfterPrint = [];
  addEventListener("beforeprint", () => {
    foldAfterPrint = workings.filter((working) => !working.open);
    foldAfterPrint.forEach((working) => { working.open = true; });
  });
  addEventListener("afterprint", () => {
    foldAfterPrint.forEach((working) => { working.open = false; });
  });

  if (!table) return;
  const body = table.tBodies[0];
  const headings = [...table.tHead.rows[0].cells];
  const status = document.getElementById("filter-status");
  const say = (text) => { status.textContent = text; };

  const keyOf = (row, column) => {
    const cell = row.cells[column];
    return cell.dataset.sort ?? cell.textContent.trim();
  };

  const byWord = new Intl.Collator("en", { numeric: true }).compare;
  const byAmount = (one, other) => one - other;

  const sortBy = (column) => {
    const heading = headings[column];
    const isAmount = heading.classList.contains("amount");
    const falling = heading.getAttribute("aria-sort") ? heading.getAttribute("aria-sort") === "ascending" : isAmount;
    const order = isAmount ? byAmount : byWord;
    const keyed = [...body.rows].map((row) => [keyOf(row, column), row]);
    const known = keyed.filter(([key]) => key !== "");
    const missing = keyed.filter(([key]) => key === "");
    known.sort(([one], [other]) => order(one, other) * (falling ? -1 : 1));
    body.append(...[...known, ...missing].map(([, row]) => row));
    headings.forEach((each) => each.removeAttribute("aria-sort"));
    heading.setAttribute("aria-sort", falling ? "descending" : "ascending");
    say(`Sorted by ${heading.textContent}, ${falling ? "falling" : "rising"}.`);
  };

  headings.forEach((heading, column) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = heading.textContent;
    button.addEventListener("click", () => sortBy(column));
    heading.replaceChildren(button);
  });

  const articles = new Map(
    [...document.querySelectorAll("article.finding")].map((article) => [article.dataset.finding, article]),
  );
  const entries = [...body.rows].map((row) => {
    const article = articles.get(row.dataset.finding);
    const said = article.querySelector(".facts").textContent + " " + article.querySelector(".said").textContent;
    return { row, article, words: (row.textContent + " " + said).toLowerCase() };
  });

  document.getElementById("filter").addEventListener("input", (event) => {
    const wanted = event.target.value.toLowerCase().split(/\s+/).filter(Boolean);
    let shown = 0;
    for (const { row, article, words } of entries) {
      const fits = wanted.every((word) => words.includes(word));
      row.hidden = article.hidden = !fits;
      shown += fits;
    }
    say(wanted.length ? `${shown} of ${entries.length} findings shown.` : "");
  });

  const unfold = document.getElementById("unfold");
  unfold.addEventListener("click", () => {
    const open = unfold.getAttribute("aria-pressed") !== "true";
    unfold.setAttribute("aria-pressed", String(open));
    document.querySelectorAll("details.working").forEach((working) => { working.open = open; });
  });

  const hint = document.createElement("span");
  hint.className = "on-screen";
  hint.textContent = ". Choose a heading to sort by it.";
  table.caption.firstElementChild.append(hint);
  document.querySelector(".tools").hidden = false;
})();
