from tests.browser.test_floor import *
def test_zz(page, signed_in, cast, meeting):
    page.set_viewport_size({"width": 390, "height": 844})
    signed_in(cast.omar)
    page.goto(f"/floor/{meeting.uuid}")
    b = page.get_by_role("button", name="On to who is here"); print(b.bounding_box()); b.click()
    b = page.get_by_role("button", name="Everybody"); print(b.bounding_box()); b.click()
    page.wait_for_timeout(1000)
    page.screenshot(path="/tmp/team/shell-zz.png")
