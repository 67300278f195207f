"""Headings and files in other alphabets and in the encodings of one and two bytes that they come in."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from steadyhead.records.logger import Context
from steadyhead.watch.reading import propose, proposing
from steadyhead.watch.reading.alphabets import page_of
from steadyhead.watch.reading.headings import said
from steadyhead.watch.reading.sources import decode

FIRST = datetime(2027, 3, 4)
HEADS = {
    "cp932": ("日時", "一次側圧力(MPa)", "二次側圧力(MPa)", "瞬時流量(m3/h)"),
    "gb18030": ("采集时间", "阀前压力(MPa)", "阀后压力(MPa)", "流量(m3/h)"),
    "big5": ("時間", "進口壓力(MPa)", "出口壓力(MPa)", "流量(m3/h)"),
    "cp949": ("일시", "입구압력(MPa)", "출구압력(MPa)", "유량(m3/h)"),
    "cp1251": ("Дата и время", "Давление на входе, МПа", "Давление на выходе, МПа", "Расход, м3/ч"),
    "koi8-r": ("Дата", "Давление перед клапаном МПа", "Давление после клапана МПа", "Расход м3/час"),
    "cp866": ("Время", "Давление вход, МПа", "Давление выход, МПа", "Расход, м3/ч"),
    "cp1253": ("Ημερομηνία", "Πίεση εισόδου (MPa)", "Πίεση εξόδου (MPa)", "Παροχή (m3/h)"),
    "cp1256": ("التاريخ", "ضغط الدخول (MPa)", "ضغط الخروج (MPa)", "تدفق (m3/h)"),
    "cp1255": ("תאריך", "לחץ כניסה (MPa)", "לחץ יציאה (MPa)", "ספיקה (m3/h)"),
    "cp874": ("วันที่", "ความดันขาเข้า (MPa)", "ความดันขาออก (MPa)", "อัตราการไหล (m3/h)"),
}
LATIN = {
    "cp1252": "Zeit;Vordruck Größenstraße [bar];Durchfluß m³/h;Wärme °C;Débit à l'entrée",
    "cp850": "Zeit;Vordruck Größe [bar];Durchfluß;Wärme °C",
    "cp1250": "Čas;Tlak na vstupu;Průtok;Ciśnienie wlotowe;Przepływ",
    "cp1254": "Tarih;Giriş basıncı;Çıkış basıncı;Debi",
}
SAID = [
    ("Тиск на вході, бар", "inlet pressure"), ("Налягане след регулатора, bar", "outlet pressure"),
    ("Притисак улаз bar", "inlet pressure"), ("فشار ورودی", "inlet pressure"),
    ("दबाव इनलेट", "inlet pressure"),
    ("1次側圧力 MPa", "inlet pressure"), ("압력(후단) MPa", "outlet pressure"), ("进出口压差(kPa)", "other"),
    ("累计流量(m3)", "meter index"), ("電池電圧 V", "battery"), ("水温(℃)", "temperature"),
    ("Tlak na ulazu [bar]", "inlet pressure"), ("Protok [l/s]", "flow"),
    ("Rõhk väljund bar", "outlet pressure"),
    ("Slėgis prieš [bar]", "inlet pressure"), ("Áp lực trước van (bar)", "inlet pressure"),
    ("Tekanan hilir (bar)", "outlet pressure"), ("Nyomás kilépő", "outlet pressure"), ("Lưu lượng", "flow"),
]  # fmt: skip


def _text(heads, mark=";", rows=300):
    lines = [mark.join(heads)]
    for k in range(rows):
        when = FIRST + timedelta(minutes=15 * k)
        lines.append(mark.join((f"{when:%Y-%m-%d %H:%M}", f"0.80{k % 7}", f"0.40{k % 5}", f"{36 + k % 9}")))
    return "\r\n".join(lines) + "\r\n"


def _is_right(found, rows=300):
    frames = {one.quantity: lazy.collect() for one, lazy in found.channels}
    for quantity, low, size in (("inlet pressure", 8e5, 7), ("outlet pressure", 4e5, 5)):
        assert frames[quantity]["v"].to_list() == pytest.approx([low + k % size * 1e3 for k in range(rows)])
        assert frames[quantity]["t"][0] == FIRST.replace(tzinfo=UTC)
    assert frames["flow"]["v"][1] == pytest.approx(37 / 3600)
    assert found.doubts == ()
    return True


@pytest.mark.parametrize("page", HEADS)
def test_a_file_in_the_encoding_of_its_country_is_read_without_a_question(page, tmp_path):
    path = tmp_path / "a.csv"
    path.write_bytes(_text(HEADS[page]).encode(page))
    assert _is_right(propose([path], Context(zone="UTC")))


@pytest.mark.parametrize("page", ["cp932", "gb18030", "cp1251"])
def test_a_long_file_of_another_encoding_is_read_alike(page, tmp_path, monkeypatch):
    monkeypatch.setattr(proposing, "LONG", 100_000)
    path = tmp_path / "a.csv"
    path.write_bytes(_text(HEADS[page], ",", 6000).replace("Дата и время", "Дата").encode(page)
                     if page != "cp1251" else _text(HEADS[page], ";", 6000).encode(page))  # fmt: skip
    assert path.stat().st_size > 100_000
    assert _is_right(propose([path], Context(zone="UTC")), 6000)


@pytest.mark.parametrize("page", LATIN)
def test_a_latin_file_stays_one(page):
    content = (LATIN[page] + "\n2027-03-04 00:00;1;2;3;4\n").encode(page)
    assert (page_of(content), decode(content)[1]) == ("", page)


@pytest.mark.parametrize(("heading", "quantity"), SAID)
def test_a_heading_of_another_language_is_understood(heading, quantity):
    assert said(heading).quantity == quantity
