/** The odd one out among like spots (hubs, drums, cells): no limit is needed, only fellows. Pure; the workshop's twin. */

// Iglewicz and Hoaglin's modified z-score and its cut, NIST e-Handbook of Statistical Methods 1.3.5.17.
const SCALE = 0.6745;
const CUT = 3.5;

/** @typedef {{spot: string, value: number, apart: number}} Odd `apart` is signed: above its fellows' median or below */

/**
 * Which spots stand apart, and whether all together differ more than they may.
 * @param {Record<string, number>} values spot -> reading, all in one unit
 * @param {number} mayDiffer in the same unit, how far like spots lie apart anyway
 * @returns {{odd: Odd[], differ: boolean}} nothing odd where there are fewer than two
 */
export function oddOnes(values, mayDiffer) {
  const all = Object.entries(values);
  const numbers = Object.values(values);
  if (all.length < 2) return { odd: [], differ: false };
  const middle = median(numbers);
  const deviation = median(numbers.map((value) => Math.abs(value - middle)));
  const odd = all
    .filter(([, value]) => SCALE * Math.abs(value - middle) > CUT * deviation)
    .map(([spot, value]) => ({ spot, value, apart: value - median(all.filter(([other]) => other !== spot).map(([, v]) => v)) }))
    .filter(({ apart }) => Math.abs(apart) > mayDiffer);
  return { odd, differ: Math.max(...numbers) - Math.min(...numbers) > mayDiffer };
}

/** @param {number[]} numbers at least one */
function median(numbers) {
  const sorted = [...numbers].sort((a, b) => a - b);
  const half = sorted.length / 2;
  const pair = [sorted[Math.ceil(half) - 1], sorted[Math.floor(half)]];
  return (Number(pair[0]) + Number(pair[1])) / 2;
}
