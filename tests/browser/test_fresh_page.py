"""The page that a test is given: its window is that of the test before, and nothing else is."""

import pytest

#: What a page can keep, and whether it is let read what was copied.
_KEPT = """async () => [localStorage.length, sessionStorage.length, document.cookie,
  (await indexedDB.databases()).length, (await caches.keys()).length,
  (await navigator.permissions.query({ name: "clipboard-read" })).state]"""
_KEEP = """async () => {
  localStorage.setItem("rhythmlab.one", "1");
  sessionStorage.setItem("rhythmlab.one", "1");
  document.cookie = "one=1";
  await new Promise((done) => (indexedDB.open("one").onsuccess = done));
  await caches.open("one");
}"""


@pytest.mark.parametrize("nth", [1, 2])
def test_nothing_is_kept_of_the_page_of_another_test(page, nth):
    """The second finds none of what the first keeps: storage, a cookie, a data base, what it was let do."""
    page.route("**/bare.html", lambda route: route.fulfill(body="<p>one", content_type="text/html"))
    page.goto("http://127.0.0.1/bare.html")
    assert page.evaluate(_KEPT) == [0, 0, "", 0, 0, "prompt"]
    page.context.grant_permissions(["clipboard-read"], origin="http://127.0.0.1")
    page.evaluate(_KEEP)
    assert page.evaluate(_KEPT) == [1, 1, "one=1", 1, 1, "granted"]
