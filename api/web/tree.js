// Changes to the tree of a question. Trees are values: every function returns another tree.

const change = (tree, more) => ({ ...tree, change: { ...tree.change, ...more } });
const same = (one, other) => one?.toLowerCase() === other?.toLowerCase();

export function newTree(car, fits) {
  return { kind: "knock-ons", change: { fits, car, terms: {} } };
}

export const fitsOf = (tree) => tree.change.fits ?? [];
export const keptOf = (tree) => tree.change.terms?.keeping ?? [];

/** Take this part at that station: `and fit PART at STATION`. */
export function pinned(tree, station, number) {
  const kept = withoutKeep(unpinned(tree, station), station);
  return change(kept, { fits: [...fitsOf(kept), { part: number, at: station }] });
}

export function unpinned(tree, station) {
  return change(tree, { fits: fitsOf(tree).filter((fit) => !same(fit.at, station)) });
}

/** Keep what is there: `keeping STATION`. */
export function withKeep(tree, station) {
  const free = withoutKeep(unpinned(tree, station), station);
  return terms(free, { keeping: [...keptOf(free), station] });
}

export function withoutKeep(tree, station) {
  return terms(tree, { keeping: keptOf(tree).filter((name) => !same(name, station)) });
}

function terms(tree, more) {
  const all = { ...tree.change.terms, ...more };
  if (!all.keeping?.length) delete all.keeping;
  return change(tree, { terms: all });
}
