// What happens when the page is opened: every port comes alive once it is scrolled near, and not before.

function quietly(element, lines) {
  let timer = 0;
  return (make) => {
    clearTimeout(timer);
    timer = setTimeout(() => {
      element.replaceChildren(
        ...make().map((line) => {
          const paragraph = document.createElement("p");
          paragraph.textContent = line;
          return paragraph;
        }),
      );
    }, lines);
  };
}

function startPort(section, painter) {
  const port = unpackPort(JSON.parse(document.getElementById(`${section.id}-data`).textContent));
  const shared = newDistance(port);
  const reading = section.querySelector(".reading");
  const slider = reading.querySelector("input");
  const drawSection = newSection(reading.querySelector("svg"), port);
  const tell = quietly(reading.querySelector(".told"), 120);
  let shown = port.states[0];
  const update = () => {
    drawSection(shown, shared.value);
    slider.value = String(shared.value);
    slider.setAttribute("aria-valuetext", lengthWords(port, shared.value));
    tell(() => sectionLines(port, shown, shared.value));
  };
  shared.on(update);
  const shows = [...section.querySelectorAll("svg[data-cursor]")].map((svg) => linkChart(svg, port, shared));
  slider.addEventListener("input", () => shared.set(Number(slider.value)));
  const figure = section.querySelector(".view3d");
  if (painter) {
    const view = newView(figure, port, shared, painter, (state) => {
      shown = state;
      update();
    });
    painter.views.push(view);
    figure.classList.add("live");
  }
  reading.hidden = false;
  shared.set(Number(slider.dataset.start));
  for (const show of shows) show(shared.value);
  update();
}

function start() {
  const painter = newPainter();
  if (painter) {
    painter.views = [];
    painter.canvas.addEventListener("webglcontextlost", () => {
      for (const figure of document.querySelectorAll(".view3d")) figure.classList.remove("live");
    });
    window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
      for (const view of painter.views) view.redraw();
    });
  }
  const near = new IntersectionObserver(
    (entries) => {
      for (const entry of entries) {
        if (!entry.isIntersecting) continue;
        near.unobserve(entry.target);
        startPort(entry.target, painter);
      }
    },
    { rootMargin: "400px" },
  );
  for (const section of document.querySelectorAll(".port")) near.observe(section);
}

start();
