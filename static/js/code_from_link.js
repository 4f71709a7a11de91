/* The code of a link stands behind the # of its address, which no server is sent. It goes into the
   form, and out of the address, where whoever looks over a shoulder or into the history finds it. */

const field = document.getElementById("id_code");
const code = location.hash.slice(1);

if (field && code) {
  field.value = code;
  history.replaceState(null, "", location.pathname);
}
