// Moves the level in a bed's cross-section as the server worked it out. Without
// this file the page shows the level at the start beside its course.
(() => {
  "use strict";
  const figure = document.getElementById("course");
  if (!figure || !figure.dataset.course) return;
  const course = JSON.parse(figure.dataset.course);
  const cut = figure.querySelector("svg.cut"), plot = figure.querySelector("svg.chart");
  const part = name => figure.querySelector(`[data-part="${name}"]`);
  const water = part("water"), pour = part("pour"), inflow = part("inflow"), pointer = part("pointer"), cursor = part("cursor");
  const slider = document.getElementById("course-time"), play = document.getElementById("course-play"), now = document.getElementById("course-now");
  const floor = Number(cut.dataset.floor), per = Number(cut.dataset.per);
  const left = Number(plot.dataset.left), right = Number(plot.dataset.right);
  const ticks = Number(slider.max), last = course.t.length - 1;
  const cycleTakes = 24000; // ms

  // place finds the last point at or before a time.
  const place = at => {
    let low = 0, high = last;
    while (low < high) {
      const mid = (low + high + 1) >> 1;
      if (course.t[mid] <= at) low = mid; else high = mid - 1;
    }
    return low;
  };
  const words = seconds => {
    const s = Math.round(seconds);
    return s < 60 ? `${s} s` : `${Math.floor(s / 60)} min ${s % 60} s`;
  };
  const show = at => {
    const i = place(at), j = Math.min(last, i + 1);
    const span = course.t[j] - course.t[i], share = span > 0 ? Math.min(1, (at - course.t[i]) / span) : 0;
    const level = course.level[i] + share * (course.level[j] - course.level[i]);
    const out = course.out[i] + share * (course.out[j] - course.out[i]);
    const running = course.running[i] === 1, open = course.open.some(([from, to]) => at >= from && at < to);
    water.setAttribute("y", (floor - level * per).toFixed(2));
    water.setAttribute("height", Math.max(0, level * per).toFixed(2));
    pointer.setAttribute("transform", `translate(0 ${(floor - level * per - start).toFixed(2)})`);
    cursor.setAttribute("transform", `translate(${(left + (right - left) * at / course.seconds).toFixed(2)} 0)`);
    pour.classList.toggle("on", running);
    inflow.classList.toggle("on", open);
    const doing = running ? `siphon runs, ${(out * course.perM3s).toFixed(0)} ${course.flow} out` : open ? "filling" : "at rest";
    now.textContent = `${words(at)}: level ${(level * course.perM).toFixed(course.digits)} ${course.unit}, ${doing}${open ? ", water comes in" : ""}`;
    slider.setAttribute("aria-valuetext", now.textContent);
  };
  const start = floor - course.level[0] * per;

  let moving = false, before = 0, at = 0;
  const little = matchMedia("(prefers-reduced-motion: reduce)");
  const step = time => {
    if (!moving) return;
    at = (at + Math.max(0, time - before) / cycleTakes * course.seconds) % course.seconds;
    before = time;
    slider.value = String(Math.round(at / course.seconds * ticks));
    show(at);
    requestAnimationFrame(step);
  };
  const stop = () => { moving = false; play.textContent = "Play"; };
  play.addEventListener("click", () => {
    if (moving || little.matches) { stop(); return; }
    moving = true;
    play.textContent = "Pause";
    before = performance.now();
    requestAnimationFrame(step);
  });
  slider.addEventListener("input", () => {
    stop();
    at = Number(slider.value) / ticks * course.seconds;
    show(at);
  });
  // Who asks for little motion gets no button that starts one; the slider stays.
  const heed = () => { play.hidden = little.matches; if (little.matches) stop(); };
  little.addEventListener("change", heed);
  heed();
  figure.querySelector(".player").hidden = false;
  show(0);
})();
