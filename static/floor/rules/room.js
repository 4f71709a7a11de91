/* How many children there are to an adult who watches, and what nobody here may spot. Pure
   functions of the pack and of the children who are here. */

/* The drills that somebody here has begun and that a spotter holds or stands ready at. */
export function heldHere(pack, here) {
  const isBegun = (key) => here.some((child) => child.drills?.[key]?.open);
  return pack.drills.map(({ key }) => key).filter((key) => pack.rules.spotted?.includes(key) && isBegun(key));
}

/* Of these, those that nobody of tonight's staff may spot. */
export function nobodySpots(pack, here) {
  const none = pack.spotters?.none ?? [];
  return heldHere(pack, here).filter((key) => none.includes(key));
}

/* {watching, each, most, tooMany, alone}: the adults who do not spot while one does, the children to
   each of them (null: there is none), the studio's number. An assistant is no adult here. */
export function roomNow(pack, here) {
  const { coaches, most, handsprings } = pack.spotters;
  const held = heldHere(pack, here);
  const watching = Math.max(coaches - (held.length ? 1 : 0), 0);
  const numbers = [most.usual];
  if (held.some((key) => handsprings.includes(key))) numbers.push(most.handsprings);
  if (here.some((child) => child.small)) numbers.push(most.small);
  const least = Math.min(...numbers);
  return {
    watching,
    each: watching ? Math.ceil(here.length / watching) : null,
    most: least,
    tooMany: watching > 0 && here.length > least * watching,
    alone: held.length > 0 && coaches === 1,
  };
}
