/* "node:fs" as far as the scripts' tests use it: the files lie on the page's server. */

export function readFileSync(address) {
  const request = new XMLHttpRequest();
  request.open("GET", address, false);
  request.send();
  if (request.status !== 200) throw new Error(`${address}: ${request.status}`);
  return request.responseText;
}
