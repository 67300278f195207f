// Fingers, wheel and keys over a picture, as moves of a window: pan(share), zoom(factor, clientX), touch(clientX).
export function hands(place, does) {
  const down = new Map();
  let moved = false;

  place.addEventListener("pointerdown", (event) => {
    if (event.pointerType === "mouse" && event.button !== 0) return;
    down.set(event.pointerId, event.clientX);
    moved = false;
    place.setPointerCapture(event.pointerId);
  });
  place.addEventListener("pointermove", (event) => {
    if (!down.has(event.pointerId)) {
      if (event.pointerType === "mouse") does.touch(event.clientX);
      return;
    }
    const before = down.get(event.pointerId);
    if (down.size === 1) {
      if (!moved && Math.abs(event.clientX - before) < 4) return;
      moved = true;
      does.drag(before, event.clientX);
      down.set(event.pointerId, event.clientX);
      return;
    }
    moved = true;
    const [other] = [...down].filter(([id]) => id !== event.pointerId).map(([, x]) => x);
    does.pinch(before, event.clientX, other);
    down.set(event.pointerId, event.clientX);
  });
  const up = (event) => {
    if (down.delete(event.pointerId) && !down.size && !moved && event.type === "pointerup") does.touch(event.clientX);
  };
  place.addEventListener("pointerup", up);
  place.addEventListener("pointercancel", up);

  place.addEventListener("wheel", (event) => {
    const isSideways = Math.abs(event.deltaX) > Math.abs(event.deltaY) || event.shiftKey;
    if (!isSideways && !event.ctrlKey && document.activeElement !== place) return;
    event.preventDefault();
    const by = event.deltaMode === 1 ? 16 : 1;
    if (isSideways) does.pan(((event.deltaX || event.deltaY) * by) / place.clientWidth);
    else does.zoom(Math.exp(Math.max(-60, Math.min(60, event.deltaY * by)) / 200), event.clientX);
  }, { passive: false });

  place.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const act = {
      ArrowLeft: () => does.pan(-0.25), ArrowRight: () => does.pan(0.25), PageUp: () => does.pan(-1), PageDown: () => does.pan(1),
      "+": () => does.zoom(0.5), "=": () => does.zoom(0.5), "-": () => does.zoom(2), ArrowUp: () => does.zoom(0.5), ArrowDown: () => does.zoom(2),
      Home: () => does.end(-1), End: () => does.end(1), 0: () => does.all(), ",": () => does.step(-1), ".": () => does.step(1),
    }[event.key];
    if (!act) return;
    event.preventDefault();
    act();
  });
}
