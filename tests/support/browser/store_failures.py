"""Ways in which a browser's store fails under a living page."""

from collections.abc import Callable

from playwright.sync_api import Page

# Every connection that is open now throws; one that is opened later works.
DEAD_CONNECTIONS = """() => {
    const start = IDBDatabase.prototype.transaction;
    const { open } = indexedDB;
    const alive = new WeakSet();
    indexedDB.open = function (...options) {
        const request = open.apply(this, options);
        request.addEventListener('success', () => alive.add(request.result));
        return request;
    };
    IDBDatabase.prototype.transaction = function (...options) {
        if (alive.has(this)) return start.apply(this, options);
        throw new DOMException('The connection was closed.', 'InvalidStateError');
    };
}"""
# Every write is refused, as on a full disk, until it is freed.
QUOTA = """() => {
    const { put } = IDBObjectStore.prototype;
    IDBObjectStore.prototype.put = function (...options) {
        const request = put.apply(this, options);
        this.transaction.abort();
        return request;
    };
    globalThis.freeTheDisk = () => { IDBObjectStore.prototype.put = put; };
}"""
# What is read of the lines arrives a second late; and how often each line is written is counted.
SLOW_READS = """() => {
    const { getAll, put } = IDBObjectStore.prototype;
    globalThis.reads = { begun: 0, ended: 0 };
    globalThis.writes = {};
    IDBObjectStore.prototype.getAll = function (...options) {
        const request = getAll.apply(this, options);
        if (this.name !== 'lines') return request;
        reads.begun += 1;
        const late = {};
        request.onsuccess = () => setTimeout(() => {
            reads.ended += 1;
            late.result = request.result;
            late.onsuccess();
        }, 1000);
        return late;
    };
    IDBObjectStore.prototype.put = function (record, ...options) {
        if (this.name === 'lines') writes[record.id] = (writes[record.id] ?? 0) + 1;
        return put.call(this, record, ...options);
    };
}"""
# A private window of a browser that keeps nothing there.
PRIVATE = """IDBFactory.prototype.open = () => {
    throw new DOMException('Not here.', 'SecurityError');
};"""
DELETE = """() => new Promise((resolve, reject) => {
    const request = indexedDB.deleteDatabase('floor');
    request.onsuccess = () => resolve();
    request.onerror = () => reject(request.error);
})"""
NEWER = """() => new Promise((resolve, reject) => {
    const request = indexedDB.open('floor', 99);
    request.onupgradeneeded = () => request.result.createObjectStore('newer');
    request.onsuccess = () => { request.result.close(); resolve(); };
    request.onerror = () => reject(request.error);
})"""


def connections_die(page: Page) -> None:
    page.evaluate(DEAD_CONNECTIONS)


def deleted_by_another_tab(page: Page) -> None:
    in_another_tab(page, DELETE)


def changed_by_another_tab(page: Page) -> None:
    in_another_tab(page, NEWER)


def in_another_tab(page: Page, script: str) -> None:
    other = page.context.new_page()
    other.route("**/elsewhere", lambda route: route.fulfill(body="<p>elsewhere</p>"))
    other.goto("/elsewhere")
    other.evaluate(script)
    other.close()


def cleared_by_the_browser(page: Page) -> None:
    session = page.context.new_cdp_session(page)
    origin = page.evaluate("location.origin")
    session.send("Storage.clearDataForOrigin", {"origin": origin, "storageTypes": "indexeddb"})


# After which it can be opened again.
FAILURES: dict[str, Callable[[Page], None]] = {
    "transaction() throws": connections_die,
    "deleted by another tab": deleted_by_another_tab,
    "changed by another tab": changed_by_another_tab,
    "cleared by the browser": cleared_by_the_browser,
}
